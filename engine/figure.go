package engine

import (
	"encoding/json"
	"math"
	"strconv"
)

// A Figure is a number that may be undefined, as a median of no ratings is.
// NaN stands for undefined and is written as null in JSON.
type Figure float64

// Undefined is the Figure of a quantity that has no value.
func Undefined() Figure { return Figure(math.NaN()) }

// Defined reports whether f has a value.
func (f Figure) Defined() bool { return !math.IsNaN(float64(f)) && !math.IsInf(float64(f), 0) }

// MarshalJSON writes an undefined figure as null.
func (f Figure) MarshalJSON() ([]byte, error) {
	if !f.Defined() {
		return []byte("null"), nil
	}
	return strconv.AppendFloat(nil, float64(f), 'g', -1, 64), nil
}

// UnmarshalJSON reads null as an undefined figure.
func (f *Figure) UnmarshalJSON(data []byte) error {
	if string(data) == "null" {
		*f = Undefined()
		return nil
	}
	var v float64
	if err := json.Unmarshal(data, &v); err != nil {
		return err
	}
	*f = Figure(v)
	return nil
}

// A Place is a position counted from 1: a rank or a layer. Zero means that
// there is none, and is written as null in JSON.
type Place int

// MarshalJSON writes an absent place as null.
func (p Place) MarshalJSON() ([]byte, error) {
	if p == 0 {
		return []byte("null"), nil
	}
	return strconv.AppendInt(nil, int64(p), 10), nil
}

// UnmarshalJSON reads null as no place.
func (p *Place) UnmarshalJSON(data []byte) error {
	*p = 0
	if string(data) == "null" {
		return nil
	}
	return json.Unmarshal(data, (*int)(p))
}
