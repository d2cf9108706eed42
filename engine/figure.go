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
	*f = Undefined()
	return json.Unmarshal(data, (*float64)(f))
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
	return json.Unmarshal(data, (*int)(p))
}

// MarshalJSON writes no agreement as null.
func (a Agreement) MarshalJSON() ([]byte, error) { return wordOrNull(string(a)) }

// UnmarshalJSON reads null as no agreement.
func (a *Agreement) UnmarshalJSON(data []byte) error {
	*a = ""
	return json.Unmarshal(data, (*string)(a))
}

// MarshalJSON writes no zone as null.
func (z Zone) MarshalJSON() ([]byte, error) { return wordOrNull(string(z)) }

// UnmarshalJSON reads null as no zone.
func (z *Zone) UnmarshalJSON(data []byte) error {
	*z = ""
	return json.Unmarshal(data, (*string)(z))
}

func wordOrNull(word string) ([]byte, error) {
	if word == "" {
		return []byte("null"), nil
	}
	return json.Marshal(word)
}
