package modeltest_test

import (
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/prompts/modeltest"
)

// A server says what it was told, and keeps what it was asked.
func TestServerKeepsWhatItWasAsked(t *testing.T) {
	model := modeltest.New(modeltest.Says("hello"))
	server := httptest.NewServer(model)
	defer server.Close()
	resp, err := http.Post(server.URL+"/v1/chat/completions", "application/json", strings.NewReader(`{"model":"any","messages":[]}`))
	require.NoError(t, err)
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	require.NoError(t, err)
	var said struct {
		Choices []struct{ Message struct{ Content string } }
	}
	err = json.Unmarshal(body, &said)
	assert.False(t, err != nil || said.Choices[0].Message.Content != "hello", "got %s, %v", body, err)
	asked := model.Requests()
	assert.False(t, len(asked) != 1 || asked[0].Body.Model != "any", "got %+v", asked)
}
