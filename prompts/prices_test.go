package prompts_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/prompts"
	"soundings/prompts/modeltest"
)

func TestParsePrices(t *testing.T) {
	for text, want := range map[string]prompts.Prices{
		"": {}, "0/0": {}, "0.15/0.60": {Prompt: 0.15, Completion: 0.6}, " 3 / 15 ": {Prompt: 3, Completion: 15},
	} {
		got, err := prompts.ParsePrices(text)
		assert.NoError(t, err, "%q: got %+v and", text, got)
		assert.Equal(t, want, got, "%q: got %+v and", text, got)
	}
	for _, text := range []string{"0.15", "/", "1/", "-1/2", "1/-2", "a/b", "NaN/1", "1/Inf", "1/2/3", "0,15/0,60"} {
		got, err := prompts.ParsePrices(text)
		assert.Error(t, err, "%q was read as %+v", text, got)
	}
}

// A draft that took two attempts costs both.
func TestCostOfADraft(t *testing.T) {
	client, _ := start(t, func(c *prompts.Config) { c.Prices = prompts.Prices{Prompt: 2, Completion: 10} }, modeltest.Says("no"), modeltest.Says(goodAnswer))
	_, got, err := client.Draft(t.Context(), pier)
	require.NoError(t, err)
	want := (2*2*float64(modeltest.PromptTokens) + 10*2*float64(modeltest.CompletionTokens)) / 1_000_000
	assert.False(t, math.Abs(got.Cost-want) > 1e-12, "it cost %v, want %v", got.Cost, want)
}
