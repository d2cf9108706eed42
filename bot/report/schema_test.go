package report

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"soundings/bot/report/schematest"
	"soundings/bot/zones"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// The schema of kickoff.json says what is in it, of every kickoff that is kept, and of
// one that has only begun; and it refuses what is not.
func TestKickoffSchema(t *testing.T) {
	s := schematest.Read(t, "../..", "kickoff.schema.json")
	s.Says(facts{})
	kept, err := filepath.Glob("../../testdata/golden/*/kickoff.json")
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(kept), 3)
	for _, name := range kept {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		s.Holds(data)
	}
	begun, err := kickoffFile(factsOf(flows.WithZones(state.Kickoff{ID: "C1-1"}, new(zones.Cache))))
	require.NoError(t, err)
	s.Holds(begun.Data)
	off, err := kickoffFile(factsOf(flows.WithZones(state.Kickoff{ID: "C1-1", Stage: state.StageEnded,
		CalledOff: state.CalledOff{Why: "The pier closes.", By: "U1", At: time.Date(2027, 3, 4, 9, 0, 0, 0, time.UTC)}}, new(zones.Cache))))
	require.NoError(t, err)
	require.Contains(t, string(off.Data), `"why": "The pier closes."`)
	s.Holds(off.Data)
	s.Refuses(off.Data, "4 March", "called_off", "on")

	ferry, err := os.ReadFile("../../testdata/golden/ferry/kickoff.json")
	require.NoError(t, err)
	s.Refuses(ferry, 2, "format")
	s.Refuses(ferry, "yesterday", "exported")
	s.Refuses(ferry, 3, "level", "median")
	s.Refuses(ferry, "perhaps", "score", "assumptions", "zone")
	s.Refuses(ferry, 10, "score", "assumptions", "evidence", "median")
	s.Refuses(ferry, "2027-4-1", "timebox", "starts")
	s.Refuses(ferry, 1.5, "backlog", "tests", "pass_mark")
	s.Refuses(ferry, "passed", "underway", "checkins", "results", "verdict")
	s.Refuses(ferry, "pause", "underway", "decision", "choice")
}

// So it does of the journals of every release, wherever they stand.
func TestKickoffSchemaOfEveryRelease(t *testing.T) {
	s := schematest.Read(t, "../..", "kickoff.schema.json")
	journals, err := filepath.Glob("../../testdata/journals/*.jsonl")
	require.NoError(t, err)
	require.NotEmpty(t, journals)
	for _, name := range journals {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		k := flows.WithZones(state.Kickoff{}, new(zones.Cache))
		n := 0
		for line := range bytes.Lines(data) {
			var r event.Record
			require.NoError(t, json.Unmarshal(line, &r), name)
			k = flows.Fold(k, k.Version, []event.Record{r})
			if n++; n%20 == 0 || k.Stage == state.StageEnded {
				file, err := kickoffFile(factsOf(k))
				require.NoError(t, err)
				s.Takes(file.Data)
			}
		}
	}
}
