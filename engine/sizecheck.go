package engine

import (
	"fmt"
	"math"
)

// shareBetween refuses a value that is not strictly between 0 and 1.
func shareBetween(name string, v float64, example string) error {
	if v > 0 && v < 1 {
		return nil
	}
	return fmt.Errorf("%s must be above 0 and below 1, such as %s; it is %g", name, example, v)
}

func notNegative(name string, v int) error {
	if v >= 0 {
		return nil
	}
	return fmt.Errorf("%s must be 0 (many) or more; it is %d", name, v)
}

// liftFrom refuses a lift of nothing, and one that leads from base to a share
// that cannot be.
func liftFrom(base, lift float64) error {
	const hair = 1e-12 // 0.7 + 0.3 may miss 1
	switch to := base + lift; {
	case lift == 0 || math.IsNaN(lift) || math.IsInf(lift, 0):
		return fmt.Errorf("lift must be a number other than 0, such as 0.02; it is %g", lift)
	case to < -hair || to > 1+hair:
		return fmt.Errorf("base plus lift must stay within 0 to 1; %g and %g make %g", base, lift, to)
	}
	return nil
}

// powerAbove refuses a power that blind chance would reach as well.
func powerAbove(alpha, power float64) error {
	if power > alpha && power < 1 {
		return nil
	}
	return fmt.Errorf("power must be above alpha and below 1, such as 0.8; it is %g", power)
}
