package engine

import "encoding/json"

// MarshalJSON writes no agreement as null.
func (a Agreement) MarshalJSON() ([]byte, error) { return wordOrNull(string(a)) }

// UnmarshalJSON reads null as no agreement.
func (a *Agreement) UnmarshalJSON(data []byte) error {
	word, err := wordFrom(data)
	*a = Agreement(word)
	return err
}

// MarshalJSON writes no zone as null.
func (z Zone) MarshalJSON() ([]byte, error) { return wordOrNull(string(z)) }

// UnmarshalJSON reads null as no zone.
func (z *Zone) UnmarshalJSON(data []byte) error {
	word, err := wordFrom(data)
	*z = Zone(word)
	return err
}

func wordOrNull(word string) ([]byte, error) {
	if word == "" {
		return []byte("null"), nil
	}
	return json.Marshal(word)
}

// wordFrom reads a word, and null as the empty one.
func wordFrom(data []byte) (string, error) {
	var word *string
	if err := json.Unmarshal(data, &word); err != nil || word == nil {
		return "", err
	}
	return *word, nil
}
