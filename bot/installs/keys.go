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
	"slices"
	"strconv"
	"strings"
	"time"
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
// goroutines. Each use derives keys of its own from the secrets.
type Keys struct{ installs, states sealer }

// A sealer encrypts under each of its keys, and any of them opens. While a key is
// changed, bots that know only the former one work on beside those that know both:
// what either of them seals the other opens.
type sealer []cipher.AEAD

// NewKeys reads a key from text, and where old is not empty a former one,
// which only opens.
func NewKeys(first, old string) (*Keys, error) {
	k := &Keys{}
	for _, text := range []string{first, old} {
		if text == "" && len(k.installs) > 0 {
			break
		}
		secret, err := ParseKey(text)
		if err != nil {
			return nil, err
		}
		for use, keys := range map[string]*sealer{"soundings installs: seal": &k.installs, "soundings installs: state": &k.states} {
			key, err := hkdf.Key(sha256.New, secret, nil, use, 32) // RFC 5869
			if err != nil {
				return nil, fmt.Errorf("derive a key: %w", err)
			}
			aead, err := newAEAD(key)
			if err != nil {
				return nil, err
			}
			*keys = append(*keys, aead)
		}
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
	varied := slices.Sorted(slices.Values(secret))
	if len(slices.Compact(varied)) < leastVaried {
		return nil, ErrKey
	}
	return secret, nil
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

// seal encrypts for an owner under each key, with random nonces; the first key
// comes first. SP 800-38D allows 2³² random nonces under one key; this writes one
// for each install, and one for each visit of the install page.
func (s sealer) seal(owner string, plain []byte) string {
	sealed := make([]string, len(s))
	for i, aead := range s {
		nonce := make([]byte, aead.NonceSize())
		_, _ = rand.Read(nonce) // never fails
		sealed[i] = base64.RawURLEncoding.EncodeToString(aead.Seal(nonce, nonce, plain, []byte(owner)))
	}
	return sealMark + strings.Join(sealed, ".")
}

// open decrypts what seal has made for the same owner. old reports that it has to
// be sealed anew: it was not sealed under our first key, or not under the same
// number of keys. Where the first of several keys is not known here, ours is the
// former one, and it stays as it is.
func (s sealer) open(owner, sealed string) (plain []byte, old bool, err error) {
	text, ours := strings.CutPrefix(sealed, sealMark)
	if !ours {
		return nil, false, ErrDecrypt
	}
	parts := strings.Split(text, ".")
	for i, aead := range s {
		for j, part := range parts {
			data, err := base64.RawURLEncoding.Strict().DecodeString(part)
			if err != nil || len(data) < aead.NonceSize() {
				return nil, false, ErrDecrypt
			}
			if plain, err := aead.Open(nil, data[:aead.NonceSize()], data[aead.NonceSize():], []byte(owner)); err == nil {
				return plain, i > 0 || j == 0 && len(parts) != len(s), nil
			}
		}
	}
	return nil, false, ErrDecrypt
}

// Format prints nothing of a key, whatever is asked for.
func (k *Keys) Format(f fmt.State, _ rune) { fmt.Fprintf(f, "%d keys", len(k.installs)) }

// stateLife is how long somebody may take to say yes.
const stateLife = 10 * time.Minute

// stateSkew is how far the clocks of several processes may be apart.
const stateSkew = time.Minute

// Why a state is refused. People see the same page for all of them.
var (
	errForged  = &pageError{pageExpired, "the state is not one of ours, or belongs to another browser"}
	errExpired = &pageError{pageExpired, "the state is too old"}
	errUsed    = &pageError{pageExpired, "the state was used before"}
	errNoState = &pageError{pageExpired, "the state or the cookie is missing"}
)

// newState makes a state, and the cookie that has to come back with it: the
// state is when it was made, sealed for the cookie. Nothing is stored until it
// comes back: people who only look in cost nothing.
func (k *Keys) newState(now time.Time) (state, cookie string) {
	cookie = rand.Text()
	return k.states.seal(cookie, strconv.AppendInt(nil, now.Unix(), 10)), cookie
}

// checkState holds a state to its cookie and its time, and says how much
// longer it would be good. A rotation of keys does not turn away who is on
// their way.
func (k *Keys) checkState(state, cookie string, now time.Time) (left time.Duration, err error) {
	if state == "" || cookie == "" {
		return 0, errNoState
	}
	plain, _, err := k.states.open(cookie, state)
	if err != nil {
		return 0, errForged
	}
	made, err := strconv.ParseInt(string(plain), 10, 64)
	if err != nil {
		return 0, errForged
	}
	age := now.Sub(time.Unix(made, 0))
	if age > stateLife || age < -stateSkew {
		return 0, errExpired
	}
	return stateLife - age, nil
}
