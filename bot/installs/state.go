package installs

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strconv"
	"time"
)

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
