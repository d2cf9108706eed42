package blockkit

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack/wire"
)

func decoded(data []byte) ([]Block, error) {
	v, err := wire.Decode(data)
	blocks, ok := BlockList(v)
	if err == nil && !ok {
		err = errors.New("not a list of objects")
	}
	return blocks, err
}

func TestElementsAreNamedByWhatPeopleSee(t *testing.T) {
	blocks, err := decoded([]byte(`[
{"type":"section","block_id":"A1","text":{"type":"mrkdwn","text":"Boats are full"},"accessory":{"type":"static_select","action_id":"rate","placeholder":{"type":"plain_text","text":"Importance"},"options":[{"text":{"type":"plain_text","text":"9 very"},"value":"9","description":{"type":"plain_text","text":"most"}},{"text":{"type":"plain_text","text":"1 hardly"},"value":"1"}],"initial_option":{"text":{"type":"plain_text","text":"1 hardly"},"value":"1"}}},
{"type":"actions","block_id":"b","elements":[{"type":"button","action_id":"go","value":"v","style":"primary","text":{"type":"plain_text","text":"Open Ballot"}},{"type":"button","action_id":"link","url":"https://example.org","visible_to_user_ids":["U1"],"text":{"type":"plain_text","text":"Read More"}}]},
{"type":"context","elements":[{"type":"mrkdwn","text":"nothing to press"}]},
{"type":"input","block_id":"why","optional":true,"label":{"type":"plain_text","text":"What makes you think so?"},"hint":{"type":"plain_text","text":"A link helps"},"element":{"type":"plain_text_input","action_id":"in","max_length":500,"initial_value":"because"}}]`))
	require.NoError(t, err)
	want := []Element{
		{BlockID: "A1", ActionID: "rate", Type: "static_select", Label: "Importance", Value: "1",
			Options: []Option{{Text: "9 very", Value: "9"}, {Text: "1 hardly", Value: "1"}}},
		{BlockID: "b", ActionID: "go", Type: "button", Label: "Open Ballot", Value: "v"},
		{BlockID: "b", ActionID: "link", Type: "button", Label: "Read More"},
		{BlockID: "why", ActionID: "in", Type: "plain_text_input", Label: "What makes you think so?", Value: "because"},
	}
	got := Elements(blocks)
	require.Len(t, got, len(want), "got %d elements", len(got))
	for i := range want {
		assert.Equal(t, want[i], got[i], "element %d:\ngot  %+v\nwant", i, got[i])
	}
}

func TestOnlyListsOfBlocksAreRead(t *testing.T) {
	for _, bad := range []string{`{}`, `[1]`, `[`, `[] []`} {
		_, err := decoded([]byte(bad))
		assert.Error(t, err, "%s was read as blocks", bad)
	}
}
