package main

import (
	"context"
	"fmt"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/journal"
	"soundings/engine"
)

var documents = []string{"README.md", "deploy/README.md", "deploy/docs/*.md"}

// elsewhere are the commands in documents that are not the program's, by how they
// begin, each with what holds it.
var elsewhere = map[string]string{
	"go test ":                         "this is one",
	"go build ./cmd/soundings":         "the package deploy builds it",
	"redis-server --appendonly yes":    "the tests of storetest start it with these settings",
	"redis-cli config set appendonly ": "TestBackupThatIsADump",
	"sh deploy/backup.sh save ":        "TestBackupWhileAKickoffRuns",
	"sh deploy/backup.sh check ":       "TestTornBackup",
	"sh deploy/backup.sh restore ":     "TestBackupThatIsADump",
	"chown -R redis:redis ":            "it belongs to the system",
	"docker compose cp ":               "there is no container engine here",
	"docker compose exec redis ":       "there is no container engine here",
	"unset SLACK_BOT_TOKEN":            "it belongs to the shell",
}

// commandsOf lists the commands in the fenced parts of a document, a line each,
// without comments.
func commandsOf(t *testing.T, path string) (commands []string) {
	t.Helper()
	inside := false
	text := strings.ReplaceAll(string(read(t, path)), "\\\n", "")
	for line := range strings.Lines(text) {
		line, _, _ = strings.Cut(strings.TrimSpace(line), "  #")
		if strings.HasPrefix(line, "```") {
			inside = !inside
		} else if inside && line != "" {
			commands = append(commands, line)
		}
	}
	require.False(t, inside, "%s: a fence stays open", path)
	return commands
}

// Every command in the documents is run as it stands there.
func TestCommandsInDocuments(t *testing.T) {
	var all []string
	for _, pattern := range documents {
		for _, path := range glob(t, pattern) {
			all = append(all, commandsOf(t, path)...)
		}
	}
	slices.Sort(all)
	all = slices.Compact(all)
	require.Greater(t, len(all), 30)
	places := []string{"testdata", "deploy", "cmd"}
	for i, place := range places {
		at, err := filepath.Abs(place)
		require.NoError(t, err)
		places[i] = at
	}
	ran := map[string]bool{}
	for _, command := range all {
		t.Run(command, func(t *testing.T) {
			if name, isSetting := strings.CutPrefix(command, "export "); isSetting {
				mustBeSettings(t, name)
				return
			}
			words := strings.Fields(command)
			if args, ok := programs(words); ok {
				same := strings.Join(args, " ")
				if ran[same] {
					return // with another name of the program
				}
				ran[same] = true
				t.Chdir(newDesk(t, places))
				runDocumented(t, args)
				return
			}
			for begins := range elsewhere {
				if strings.HasPrefix(command+" ", begins) || command == begins {
					return
				}
			}
			t.Error("nothing runs this command")
		})
	}
}

// programs cuts the ways to call the program off.
func programs(words []string) (args []string, is bool) {
	for _, begins := range [][]string{{"go", "run", "./cmd/soundings"}, {"soundings"}, {"./soundings"}} {
		if len(words) > len(begins) && slices.Equal(words[:len(begins)], begins) {
			return words[len(begins):], true
		}
	}
	return nil, false
}

func mustBeSettings(t *testing.T, assignments string) {
	t.Helper()
	names := regexp.MustCompile(`\b([A-Z_]+)=`).FindAllStringSubmatch(assignments, -1)
	require.NotEmpty(t, names)
	for _, name := range names {
		assert.Contains(t, settingsHelp, "  "+name[1]+" ")
	}
}

// newDesk is a folder in which the files lie that the documents name.
func newDesk(t *testing.T, places []string) string {
	t.Helper()
	dir := t.TempDir()
	for _, place := range places {
		require.NoError(t, os.Symlink(place, filepath.Join(dir, filepath.Base(place))))
	}
	for name, like := range map[string]string{"ratings.csv": "testdata/score/five.csv", "list.csv": "testdata/score/statements.csv"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), read(t, filepath.Join(dir, like)), 0o644))
	}
	return dir
}

// workplace is one with a kickoff.
func workplace(t *testing.T) environ {
	t.Helper()
	team := fakeslack.NewTeam(fakeslack.Config{SigningSecret: madeUpSecret})
	t.Cleanup(team.Close)
	platform := httptest.NewServer(team.Handler())
	t.Cleanup(platform.Close)
	key := journal.Key{Team: "T0123", Kickoff: "C0456-1795641361"}
	return changed(socketEnviron(), "SLACK_API_URL="+platform.URL+"/api/", "SOUNDINGS_REDIS_URL="+keepDemo(t, key)["SOUNDINGS_REDIS_URL"], "SOUNDINGS_ALLOW_EVICTION=yes")
}

// runDocumented runs the program, where need be in a workplace. What goes on until
// somebody stops it is stopped once it says that it is there.
func runDocumented(t *testing.T, args []string) {
	t.Helper()
	e := environ{}
	if slices.Contains([]string{"check", "export", "purge", "redraw", "serve"}, args[0]) {
		e = workplace(t)
	}
	if args[0] == "check" && slices.Contains(args, "--model") {
		t.Skip("TestSheet runs it, beside a model")
	}
	lasting := args[0] == "serve" || args[0] == "rehearse" && !slices.Contains(args, "--script")
	if !lasting {
		a := e.call(t, "", args...)
		wanted := []int{exitGood}
		if args[0] == "check" {
			wanted = append(wanted, exitFailed) // the Redis of these tests keeps nothing on disk
		}
		assert.Contains(t, wanted, a.code, a.errors)
		return
	}
	if args[0] == "rehearse" {
		args = append(args, "--listen", "127.0.0.1:0")
	}
	ctx, stop := context.WithTimeout(t.Context(), within)
	defer stop()
	var out lockedBuffer
	ended := make(chan int, 1)
	go func() { ended <- run(ctx, args, e, nil, &out, &out) }()
	assert.Eventually(t, func() bool {
		return strings.Contains(out.String(), "serving") || strings.Contains(out.String(), "http://")
	}, within, 20*time.Millisecond)
	stop()
	assert.Equal(t, exitGood, <-ended, out.String())
}

// The worked example says what the engine says.
func TestWorkedExample(t *testing.T) {
	t.Parallel()
	page := string(read(t, "deploy/docs/how-it-judges.md"))
	const ratings = "3 3 3 4 4 7 8 8 8 9 9"
	require.Contains(t, page, "> "+ratings+"\n")
	var table strings.Builder
	table.WriteString("rater,assumption,importance,evidence\n")
	for i, rating := range strings.Fields(ratings) {
		fmt.Fprintf(&table, "R%d,A14,%s,2\n", i, rating)
	}
	parsed, err := engine.ParseTable("the example", strings.NewReader(table.String()))
	require.NoError(t, err)
	got := engine.Score(parsed, engine.Options{}).Assumptions[0]
	i := got.Importance
	assert.Equal(t, []float64{7, 3.5, 8, 4, 8, 3.85}, []float64{float64(i.Median), float64(i.Q1), float64(i.Q3), float64(i.IPRLow), float64(i.IPRHigh), float64(i.IPRAS)})
	assert.Equal(t, engine.Split, i.Agreement)
	for _, said := range []string{"the sixth of eleven: 7", "three quarters of the way: 3.5 and 8", "4 to 8 are", "= 3.85"} {
		assert.Contains(t, page, said)
	}
}
