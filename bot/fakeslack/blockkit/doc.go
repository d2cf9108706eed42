// Package blockkit is what the platform knows about blocks: which shapes and
// lengths it takes, which elements people can act on, what a form holds before
// and after somebody typed into it, and what its own client would not let
// through. It knows nothing of channels or people; who calls it says which
// ids exist.
//
// Start from CheckMessage and CheckView, Interactive and Elements, and State.
package blockkit
