package fakeslack

import (
	"encoding/base64"
	"strconv"
	"strings"

	"soundings/bot/fakeslack/wire"
)

// page cuts one page out of n items: the range of it, and the cursor of the
// next one, "" at the end. A cursor means something to the workspace alone.
func page(a args, n, fallback, most int) (from, to int, next string, err error) {
	limit, err := a.limit(fallback, most)
	if err != nil {
		return 0, 0, "", err
	}
	if cursor := a.str("cursor"); cursor != "" {
		if from, err = readCursor(cursor, n); err != nil {
			return 0, 0, "", err
		}
	}
	to = min(n, from+limit)
	if to < n {
		next = base64.StdEncoding.EncodeToString([]byte("next:" + strconv.Itoa(to)))
	}
	return from, to, next, nil
}

func readCursor(cursor string, n int) (int, error) {
	raw, err := base64.StdEncoding.DecodeString(cursor)
	if err != nil {
		return 0, wire.Refuse("invalid_cursor")
	}
	digits, ok := strings.CutPrefix(string(raw), "next:")
	from, err := strconv.Atoi(digits)
	if !ok || err != nil || from < 0 || from > n {
		return 0, wire.Refuse("invalid_cursor")
	}
	return from, nil
}

func nextCursor(next string) reply { return reply{"next_cursor": next} }
