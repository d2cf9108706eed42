package installs

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/hkdf"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
)

// What can be wrong with keys. None of it quotes a key.
var (
	// ErrKey says that a text is no key: 32 random bytes as base64 or hex.
	ErrKey = errors.New("this is no key: 32 random bytes are needed, as base64 or hex, such as openssl rand -base64 32 prints")

	// ErrDecrypt says that none of the keys opens a record, or that the record
	// was not sealed for this team.
	ErrDecrypt = errors.New("no key opens this record")
)

// Keys seal and open. They are never printed. They may be used by many
// goroutines.
type Keys struct {
	pairs []keyPair // the first seals, any opens
}

// A keyPair is what one secret is used for, each use with a key of its own.
type keyPair struct {
	aead  cipher.AEAD
	state []byte // signs states
}

// NewKeys reads a key from text, and where old is not empty a former one,
// which only opens.
func NewKeys(first, old string) (*Keys, error) {
	k := &Keys{}
	for _, text := range []string{first, old} {
		if text == "" && len(k.pairs) > 0 {
			break
		}
		secret, err := ParseKey(text)
		if err != nil {
			return nil, err
		}
		pair, err := newPair(secret)
		if err != nil {
			return nil, err
		}
		k.pairs = append(k.pairs, pair)
	}
	return k, nil
}

// leastVaried is the fewest different bytes that a key may have. 32 random
// bytes hold 15 or fewer different ones less than once in 10¹² times.
const leastVaried = 16

// ParseKey reads a key: 64 hexadecimal digits, or base64 of either alphabet,
// padded or not. A key that no generator would give is refused.
func ParseKey(text string) ([]byte, error) {
	secret, err := hex.DecodeString(text)
	if err != nil {
		plain := strings.NewReplacer("-", "+", "_", "/").Replace(strings.TrimRight(text, "="))
		secret, err = base64.RawStdEncoding.Strict().DecodeString(plain)
	}
	if err != nil || len(secret) != 32 {
		return nil, ErrKey
	}
	varied := map[byte]bool{}
	for _, b := range secret {
		varied[b] = true
	}
	if len(varied) < leastVaried {
		return nil, ErrKey
	}
	return secret, nil
}

// newPair derives a key for each use, after RFC 5869.
func newPair(secret []byte) (keyPair, error) {
	seal, err := hkdf.Key(sha256.New, secret, nil, "soundings installs: seal", 32)
	if err != nil {
		return keyPair{}, fmt.Errorf("derive a key: %w", err)
	}
	state, err := hkdf.Key(sha256.New, secret, nil, "soundings installs: state", 32)
	if err != nil {
		return keyPair{}, fmt.Errorf("derive a key: %w", err)
	}
	aead, err := newAEAD(seal)
	return keyPair{aead: aead, state: state}, err
}

// newAEAD is AES-256-GCM with nonces of 96 bits and tags of 128, as NIST
// SP 800-38D recommends.
func newAEAD(key []byte) (cipher.AEAD, error) {
	block, err := aes.NewCipher(key)
	if err != nil {
		return nil, fmt.Errorf("make a cipher: %w", err)
	}
	return cipher.NewGCM(block)
}

// sealMark begins a sealed record: the version of its format.
const sealMark = "1."

// seal encrypts for a team under the first key, with a random nonce. SP
// 800-38D allows 2³² random nonces under one key; this writes one for each
// install.
func (k *Keys) seal(team string, plain []byte) string {
	aead := k.pairs[0].aead
	nonce := make([]byte, aead.NonceSize())
	_, _ = rand.Read(nonce) // never fails
	return sealMark + base64.RawURLEncoding.EncodeToString(aead.Seal(nonce, nonce, plain, []byte(team)))
}

// open decrypts what seal has made for the same team. old reports that it was
// sealed with a former key.
func (k *Keys) open(team, sealed string) (plain []byte, old bool, err error) {
	text, ours := strings.CutPrefix(sealed, sealMark)
	data, err := base64.RawURLEncoding.Strict().DecodeString(text)
	if !ours || err != nil {
		return nil, false, ErrDecrypt
	}
	for i, pair := range k.pairs {
		n := pair.aead.NonceSize()
		if len(data) < n {
			break
		}
		if plain, err := pair.aead.Open(nil, data[:n], data[n:], []byte(team)); err == nil {
			return plain, i > 0, nil
		}
	}
	return nil, false, ErrDecrypt
}

// Format prints nothing of a key, whatever is asked for.
func (k *Keys) Format(f fmt.State, _ rune) { fmt.Fprintf(f, "%d keys", len(k.pairs)) }
