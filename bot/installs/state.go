package installs

import (
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"time"
)

// stateLife is how long somebody may take to say yes.
const stateLife = 10 * time.Minute

// stateSkew is how far the clocks of several processes may be apart.
const stateSkew = time.Minute

// Why a state is refused. People see the same page for all of them.
var (
	errForged  = errors.New("the state is not one of ours, or belongs to another browser")
	errExpired = errors.New("the state is too old")
	errUsed    = errors.New("the state was used before")
	errNoState = errors.New("the state or the cookie is missing")
)

// A state is when it was made, a nonce, and a signature over both and over
// the cookie that goes with it. Nothing is stored until it comes back: people
// who only look in cost nothing.
const (
	stampSize = 8
	nonceSize = 16
	stateSize = stampSize + nonceSize + sha256.Size
)

// newState makes a state, and the cookie that has to come back with it.
func (k *Keys) newState(now time.Time) (state, cookie string) {
	var nonce [nonceSize]byte
	_, _ = rand.Read(nonce[:]) // never fails
	cookie = rand.Text()
	body := append(binary.BigEndian.AppendUint64(nil, uint64(now.Unix())), nonce[:]...)
	return base64.RawURLEncoding.EncodeToString(append(body, signState(k.pairs[0].state, body, cookie)...)), cookie
}

func signState(key, body []byte, cookie string) []byte {
	mac := hmac.New(sha256.New, key)
	mac.Write(body) // of a fixed length, so that the cookie cannot run into it
	mac.Write([]byte(cookie))
	return mac.Sum(nil)
}

// checkState holds a state to its signature, its cookie and its time, and
// says how much longer it would be good.
func (k *Keys) checkState(state, cookie string, now time.Time) (left time.Duration, err error) {
	if state == "" || cookie == "" {
		return 0, errNoState
	}
	data, err := base64.RawURLEncoding.Strict().DecodeString(state)
	if err != nil || len(data) != stateSize {
		return 0, errForged
	}
	body, signature := data[:stateSize-sha256.Size], data[stateSize-sha256.Size:]
	ours := false
	for _, pair := range k.pairs { // a rotation must not turn away who is on their way
		ours = hmac.Equal(signature, signState(pair.state, body, cookie)) || ours
	}
	if !ours {
		return 0, errForged
	}
	age := now.Sub(time.Unix(int64(binary.BigEndian.Uint64(body)), 0))
	if age > stateLife || age < -stateSkew {
		return 0, errExpired
	}
	return stateLife - age, nil
}

// markUsed accepts a valid state once. It is remembered for longer than it
// would be good.
func (s *Store) markUsed(ctx context.Context, state string, left time.Duration) error {
	sum := sha256.Sum256([]byte(state))
	key := s.prefix + ":install-state:" + hex.EncodeToString(sum[:])
	first, err := s.rdb.SetNX(ctx, key, 1, left+stateSkew).Result()
	if err != nil {
		return fmt.Errorf("note that a state was used: %w", err)
	}
	if !first {
		return errUsed
	}
	return nil
}
