// Package hints suggests what people might look at again in a short text: what
// says the same already, and how a belief could be worded so that others can
// rate it. Everything here is a guess from the surface of a text. It is shown,
// never enforced; where in doubt, nothing is said.
//
// Start with [Similarity] and [Index] for near-duplicates, [Wording] for hints
// and [Halves] for two beliefs in one entry. The words of each language stand
// in languages.txt; stems come from the Snowball stemmers.
//
// When and to whom a hint is shown is left to others (flows, bot/screens).
package hints
