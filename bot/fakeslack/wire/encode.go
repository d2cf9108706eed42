package wire

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"sync"
)

// Encode writes v with sorted keys and without HTML escapes, so that the same
// value always gives the same bytes: those of encoding/json. Decoded values are
// written here, since they are most of what is sent, and reflection takes three
// times as long over them.
func Encode(v any) []byte {
	buf := buffers.Get().(*[]byte)
	defer buffers.Put(buf)
	*buf = appendValue((*buf)[:0], v)
	return bytes.Clone(*buf)
}

// buffers are those in which values were written before: a form is some 20 kB,
// and a new buffer would grow to that in six steps.
var buffers = sync.Pool{New: func() any { return new([]byte) }}

func appendValue(out []byte, v any) []byte {
	switch v := v.(type) {
	case string:
		return appendText(out, v)
	case bool:
		return strconv.AppendBool(out, v)
	case int:
		return strconv.AppendInt(out, int64(v), 10)
	case Object:
		if v != nil {
			return appendObject(out, v)
		}
	case []any:
		if v != nil {
			return appendList(out, v)
		}
	case []Object:
		if v != nil {
			return appendList(out, v)
		}
	}
	return appendOther(out, v)
}

func appendObject(out []byte, o Object) []byte {
	var few [16]string // which most objects do with
	keys := few[:0]
	for key := range o {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	out = append(out, '{')
	for i, key := range keys {
		if i > 0 {
			out = append(out, ',')
		}
		out = append(appendText(out, key), ':')
		out = appendValue(out, o[key])
	}
	return append(out, '}')
}

func appendList[E any](out []byte, all []E) []byte {
	out = append(out, '[')
	for i, v := range all {
		if i > 0 {
			out = append(out, ',')
		}
		out = appendValue(out, v)
	}
	return append(out, ']')
}

// appendText writes text that needs no escapes by itself.
func appendText(out []byte, text string) []byte {
	for i := range len(text) {
		if c := text[i]; c < ' ' || c > '~' || c == '"' || c == '\\' {
			return appendOther(out, text)
		}
	}
	return append(append(append(out, '"'), text...), '"')
}

func appendOther(out []byte, v any) []byte {
	buf := bytes.NewBuffer(out)
	enc := json.NewEncoder(buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		panic(fmt.Sprintf("wire: %T does not encode: %v", v, err)) // all values here came from JSON or are plain
	}
	return bytes.TrimSuffix(buf.Bytes(), []byte("\n"))
}
