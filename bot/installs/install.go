package installs

import (
	"encoding/json"
	"fmt"
	"log/slog"
	"time"
)

// An Install is what a workplace gave the app.
type Install struct {
	Team    string // the id of the team
	Name    string // as the team calls itself
	Token   string // the bot token; a secret
	BotUser string // the bot's own account there
	Scopes  []string
	At      time.Time // when it was given
}

// Format and LogValue name the team alone: an install printed by mistake must
// not give its token away.
func (i Install) Format(f fmt.State, _ rune) { fmt.Fprintf(f, "the install of %s", i.Team) }

// LogValue is for log/slog.
func (i Install) LogValue() slog.Value { return slog.StringValue("the install of " + i.Team) }

// MarshalJSON leaves the token out, for the same reason.
func (i Install) MarshalJSON() ([]byte, error) {
	return json.Marshal(map[string]string{"team": i.Team})
}

// A record is an install as it is sealed, for its team. Fields are added, never
// renamed: the records of every release open for ever.
type record struct {
	Team    string    `json:"-"`
	Name    string    `json:"name,omitempty"`
	Token   string    `json:"token"`
	BotUser string    `json:"bot_user,omitempty"`
	Scopes  []string  `json:"scopes,omitempty"`
	At      time.Time `json:"at"`
}

func (k *Keys) sealInstall(i Install) (string, error) {
	plain, err := json.Marshal(record(i))
	if err != nil {
		return "", fmt.Errorf("write the install of %s: %w", i.Team, err)
	}
	return k.installs.seal(i.Team, plain), nil
}

func (k *Keys) openInstall(team, sealed string) (i Install, old bool, err error) {
	plain, old, err := k.installs.open(team, sealed)
	r := record{Team: team}
	if err != nil || json.Unmarshal(plain, &r) != nil || r.Token == "" { // its error may quote what it read
		return Install{}, false, fmt.Errorf("open the install of %s: %w", team, ErrDecrypt)
	}
	return Install(r), old, nil
}
