// Package wire is the platform's JSON as it travels: decoded values that are
// read by key, the bytes that stand for them, and the form of a refusal.
//
// Start from Decode and Encode, Str and its kin, and Refuse.
package wire

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
)

// An Object is a decoded JSON object, or one that is to be encoded.
type Object = map[string]any

// Decode reads exactly one value, keeping numbers as written.
func Decode(data []byte) (any, error) {
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.UseNumber()
	var v any
	if err := dec.Decode(&v); err != nil {
		return nil, err
	}
	if _, err := dec.Token(); err != io.EOF {
		return nil, errors.New("more than one value")
	}
	return v, nil
}

// DecodeObject reads exactly one object.
func DecodeObject(data []byte) (Object, bool) {
	v, err := Decode(data)
	o, ok := v.(Object)
	return o, err == nil && ok
}

// Clone copies a decoded value with everything in it.
func Clone(v any) any {
	switch v := v.(type) {
	case Object:
		out := make(Object, len(v))
		for key, inner := range v {
			out[key] = Clone(inner)
		}
		return out
	case []any:
		out := make([]any, len(v))
		for i, inner := range v {
			out[i] = Clone(inner)
		}
		return out
	}
	return v
}

// get reads one property; a missing one, or one of another type, is the zero
// value.
func get[T any](o Object, key string) T {
	v, _ := o[key].(T)
	return v
}

// Str reads a property that is text.
func Str(o Object, key string) string { return get[string](o, key) }

// Obj reads a property that is an object.
func Obj(o Object, key string) Object { return get[Object](o, key) }

// List reads a property that is a list.
func List(o Object, key string) []any { return get[[]any](o, key) }

// Flag reads a property that is true or false.
func Flag(o Object, key string) bool { return get[bool](o, key) }

// Whole reads a property that is a whole number, and says whether it is one.
func Whole(o Object, key string) (int, bool) {
	n, ok := o[key].(json.Number)
	if !ok {
		return 0, false
	}
	i, err := n.Int64()
	return int(i), err == nil
}
