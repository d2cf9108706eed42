package prompts

import (
	"errors"
	"math"
	"strconv"
	"strings"
)

// Prices are what a million tokens cost, in whichever currency the server
// bills. The zero Prices are of a server that costs nothing, or whose prices
// nobody has said.
type Prices struct {
	Prompt     float64 // of what is sent
	Completion float64 // of what comes back
}

var errPrices = errors.New("prices are two numbers of 0 or more with a / between them, what a million tokens cost that are sent and that come back, such as 0.15/0.60")

// ParsePrices reads prices such as "0.15/0.60"; nothing is the zero Prices.
func ParsePrices(text string) (Prices, error) {
	if text == "" {
		return Prices{}, nil
	}
	prompt, completion, two := strings.Cut(text, "/")
	p := Prices{Prompt: price(prompt), Completion: price(completion)}
	if !two || p.Prompt < 0 || p.Completion < 0 {
		return Prices{}, errPrices
	}
	return p, nil
}

// price is below 0 for what is no price.
func price(text string) float64 {
	p, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil || math.IsNaN(p) || math.IsInf(p, 0) {
		return -1
	}
	return p
}

// cost is what so many tokens cost.
func (p Prices) cost(prompt, completion int) float64 {
	return (p.Prompt*float64(prompt) + p.Completion*float64(completion)) / 1e6
}
