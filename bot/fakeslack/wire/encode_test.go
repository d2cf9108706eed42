package wire

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Encode writes what encoding/json would.
func TestEncode(t *testing.T) {
	decoded, err := Decode([]byte(`{"b":[1,2.50,-3e+10,{}],"a":{"é":"ü","<":"&>","":null},"z":[[],[null,true,false]]}`))
	require.NoError(t, err)
	for name, v := range map[string]any{
		"decoded": decoded,
		"texts":   []any{"", "plain ~ text", "a\"b\\c", "\x00\x1f\n\r\t\b\f\x7f", "é “quoted” ↔ 😀", "<script>&</script>", "\u2028\u2029", "bad \xff\xc3"},
		"keys":    Object{"b": 1, "a": 2, "ab": 3, "A": 4, "é": 5, "\"": 6, "\xff": 7},
		"numbers": []any{0, -1, 1 << 60, int64(7), 1.5, 1e21, json.Number("12.340"), json.Number("")},
		"none":    []any{nil, Object(nil), []any(nil), []Object(nil), []string(nil), map[string]string(nil)},
		"empty":   []any{Object{}, []any{}, []Object{}, []string{}},
		"lists":   Object{"objects": []Object{{"a": "b"}, nil}, "texts": []string{"a", "<"}, "map": map[string]string{"b": "c", "a": "d"}},
		"struct": []any{struct {
			A string `json:"a"`
			B int    `json:"b,omitempty"`
		}{A: "<"}, json.RawMessage(`{"b": 1}`)},
		"text": "one", "number": 3, "nothing": nil,
	} {
		var want bytes.Buffer
		enc := json.NewEncoder(&want)
		enc.SetEscapeHTML(false)
		require.NoError(t, enc.Encode(v), name)
		assert.Equal(t, want.String(), string(Encode(v))+"\n", name)
	}
	assert.Panics(t, func() { Encode([]any{func() {}}) })
}
