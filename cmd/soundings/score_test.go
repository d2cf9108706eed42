package main

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/engine"
)

const scoreFolder = "testdata/score"

// swapEnding puts another ending in place of .csv.
func swapEnding(path, ending string) string { return strings.TrimSuffix(path, ".csv") + ending }

func TestScoreReports(t *testing.T) {
	t.Parallel()
	for _, path := range glob(t, scoreFolder+"/*.csv") {
		t.Run(filepath.Base(path), func(t *testing.T) {
			golden(t, swapEnding(path, ".txt"), good(t, "score", path))
		})
	}
}

func TestScoreRefusals(t *testing.T) {
	t.Parallel()
	for _, path := range glob(t, scoreFolder+"/bad/*.csv") {
		t.Run(filepath.Base(path), func(t *testing.T) {
			a := call(t, "", "score", "--json", path)
			assert.Equal(t, exitWrong, a.code, "got exit %d, stdout %q; want 2 and nothing", a.code, a.out)
			assert.Equal(t, "", a.out, "got exit %d, stdout %q; want 2 and nothing", a.code, a.out)
			where := path + ":"
			assert.True(t, strings.HasPrefix(a.errors, where), "stderr %q is not one line that begins with %s", a.errors, where)
			assert.Equal(t, 1, strings.Count(a.errors, "\n"), "stderr %q is not one line that begins with %s", a.errors, where)
			golden(t, swapEnding(path, ".err"), a.errors)
		})
	}
}

// The figures of five.csv are derived by hand in testdata/scenarios/five.yaml.
func TestScoreAgreesWithFiguresByHand(t *testing.T) {
	t.Parallel()
	expected, err := os.ReadFile("testdata/scenarios/five.expected.json")
	require.NoError(t, err)
	var want struct {
		Score map[string]any `json:"score"`
	}
	require.NoError(t, json.Unmarshal(expected, &want))
	var got map[string]any
	require.NoError(t, json.Unmarshal([]byte(good(t, "score", "--json", "testdata/score/five.csv")), &got))
	mustHold(t, "", got, want.Score)
}

// mustHold checks that got has every value that want has; numbers may differ
// by a rounding error.
func mustHold(t *testing.T, path string, got, want any) {
	t.Helper()
	switch want := want.(type) {
	case map[string]any:
		object, _ := got.(map[string]any)
		for key, w := range want {
			mustHold(t, path+"."+key, object[key], w)
		}
	case []any:
		list, _ := got.([]any)
		if !assert.Len(t, list, len(want), "%s: got %d items", path, len(list)) {
			return
		}
		for i, w := range want {
			mustHold(t, fmt.Sprintf("%s[%d]", path, i), list[i], w)
		}
	case float64:
		n, ok := got.(float64)
		assert.True(t, ok, "%s: got %v, want %v", path, got, want)
		assert.False(t, math.Abs(n-want) > 1e-9, "%s: got %v, want %v", path, got, want)
	default:
		assert.True(t, got == want, path)
	}
}

// The keys that programs rely on, at each level, in alphabetical order.
func TestScoreJSONShape(t *testing.T) {
	t.Parallel()
	const (
		spread  = "agreement disagreement ipr_high ipr_low ipras iqr lean median n q1 q3"
		concord = "ballots ballots_all chi2 df left_out p w w_all"
	)
	for _, path := range glob(t, scoreFolder+"/*.csv") {
		var got struct {
			Assumptions []map[string]json.RawMessage
			Cut         json.RawMessage
			Concordance map[string]json.RawMessage
		}
		out := []byte(good(t, "score", "--json", path))
		require.NoError(t, json.Unmarshal(out, &got), path)
		mustHaveKeys(t, path, out, "assumptions concordance cut order raters")
		mustHaveKeys(t, path, got.Cut, "evidence importance")
		for _, scale := range []string{"importance", "evidence"} {
			mustHaveKeys(t, path, got.Concordance[scale], concord)
			for _, a := range got.Assumptions {
				mustHaveKeys(t, path, a[scale], spread)
			}
		}
		for _, a := range got.Assumptions {
			whole, _ := json.Marshal(a)
			mustHaveKeys(t, path, whole, "evidence id importance known layer levelled_evidence levelled_importance levelled_rank "+
				"rank rank_high rank_low statement thin top3 zone")
		}
	}
}

func mustHaveKeys(t *testing.T, path string, object []byte, want string) {
	t.Helper()
	var got map[string]json.RawMessage
	require.NoError(t, json.Unmarshal(object, &got), path)
	var keys []string
	for key := range got {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	assert.Equal(t, want, strings.Join(keys, " "), "%s: got the keys", path)
}

// What is undefined is null, never 0.
func TestScoreJSONOfTheUnranked(t *testing.T) {
	t.Parallel()
	out := good(t, "score", "--json", "testdata/score/unrated.csv")
	var got map[string]any
	require.NoError(t, json.Unmarshal([]byte(out), &got))
	for _, a := range got["assumptions"].([]any)[1:] {
		a := a.(map[string]any)
		for _, key := range []string{"zone", "layer", "rank", "top3", "rank_low", "rank_high", "levelled_rank"} {
			value, there := a[key]
			assert.True(t, there, "%s of %s", key, a["id"])
			assert.Nil(t, value, "%s of %s", key, a["id"])
		}
	}
	assert.Equal(t, "[A1 A2 A3]", fmt.Sprint(got["order"]), "order")
}

func TestScoreReadsStandardInput(t *testing.T) {
	t.Parallel()
	table, err := os.ReadFile(scoreFolder + "/five.csv")
	require.NoError(t, err)
	want := good(t, "score", "--json", "testdata/score/five.csv")
	a := call(t, string(table), "score", "--json", "-")
	assert.Equal(t, exitGood, a.code, "from standard input: %s", a.errors)
	assert.Equal(t, want, a.out, "from standard input")
	a = call(t, "rater\n", "score", "-")
	assert.Equal(t, exitWrong, a.code, "got exit %d, stderr %q; want 2 and line 1 of standard input", a.code, a.errors)
	assert.True(t, strings.HasPrefix(a.errors, "standard input:1: "), "got exit %d, stderr %q; want 2 and line 1 of standard input", a.code, a.errors)
}

func TestScoreFlags(t *testing.T) {
	t.Parallel()
	const file = "testdata/score/five.csv"
	base := good(t, "score", "--json", file)
	assert.Equal(t, base, good(t, "score", "--json", "--seed", "1", file), "--seed 1 is not the default")
	assert.NotEqual(t, base, good(t, "score", "--json", "--seed", "2", file), "--seed 2 draws the same resamples as seed 1")
	// A6 has 4 ratings: fewer than half of 9.
	for asked, want := range map[string]bool{"8": false, "9": true} {
		var r engine.Result
		require.NoError(t, json.Unmarshal([]byte(good(t, "score", "--json", "--asked", asked, file)), &r))
		got := r.Assumptions[5].Thin
		assert.Equal(t, want, got, "--asked %s: thin is %t for 4 ratings", asked, got)
	}
}

func TestScoreWrongUsage(t *testing.T) {
	t.Parallel()
	const file = "testdata/score/five.csv"
	for _, tt := range []struct {
		rule string
		args []string
		want string
	}{
		{"no file", nil, "score takes one file, or - for standard input, and got 0; see soundings score --help"},
		{"two files", []string{file, file}, "score takes one file, or - for standard input, and got 2; see soundings score --help"},
		{"a file that is not there", []string{"none.csv"}, "none.csv: no such file or directory"},
		{"a folder", []string{"testdata"}, "testdata: is a directory"},
		{"nobody asked", []string{"--asked", "0", file}, "--asked must be 1 or more; it is 0"},
		{"a picture without a name", []string{"--png", "", file}, "--png needs the name of a file"},
		{"a picture in place of the ratings", []string{"--png", "testdata/score/../score/five.csv", file}, "--png would write over testdata/score/five.csv; name another file"},
		{"a picture named as another", []string{"--png", "out/map.gif", file}, "--png writes PNG, and out/map.gif is named as something else; name it out/map.png"},
		{"two pictures in one file", []string{"--png", "out/map", "--svg", "out/map", file}, "--svg would write over out/map; name another file"},
	} {
		t.Run(tt.rule, func(t *testing.T) { mustRefuse(t, tt.want, append([]string{"score"}, tt.args...)...) })
	}
}

func TestScoreDrawsTheMap(t *testing.T) {
	t.Parallel()
	for _, path := range glob(t, scoreFolder+"/*.csv") {
		t.Run(filepath.Base(path), func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			asPNG, asSVG := filepath.Join(dir, "map.png"), filepath.Join(dir, "map.svg")
			good(t, "score", "--png", asPNG, "--svg", asSVG, path)
			picture, err := png.Decode(bytes.NewReader(read(t, asPNG)))
			require.NoError(t, err, "the PNG does not decode")
			size := picture.Bounds().Size()
			assert.GreaterOrEqual(t, size.X, 360, "the PNG is %v, want at least 360 by 360", size)
			assert.GreaterOrEqual(t, size.Y, 360, "the PNG is %v, want at least 360 by 360", size)
			assert.NoError(t, wellFormed(read(t, asSVG)), "the SVG is not XML")
			mustHoldOnly(t, dir, "map.png", "map.svg")
		})
	}
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return data
}

func wellFormed(data []byte) error {
	d := xml.NewDecoder(bytes.NewReader(data))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return err
		}
	}
}

// mustHoldOnly checks the names in a folder: no draft may stay behind.
func mustHoldOnly(t *testing.T, dir string, want ...string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var got []string
	for _, e := range entries {
		got = append(got, e.Name())
	}
	assert.Equal(t, want, got, "%s holds", dir)
}

func TestScoreOfBadInputWritesNothing(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	kept := filepath.Join(dir, "map.png")
	require.NoError(t, os.WriteFile(kept, []byte("the map of yesterday"), 0o600))
	a := call(t, "", "score", "--png", kept, "--svg", filepath.Join(dir, "map.svg"), "testdata/score/bad/rating-ten.csv")
	assert.Equal(t, exitWrong, a.code, "got exit")
	mustHoldOnly(t, dir, "map.png")
	got := string(read(t, kept))
	assert.Equal(t, "the map of yesterday", got, "the file that was there now holds %d other bytes", len(got))
}

// Where one picture cannot be written, neither is.
func TestScoreWritesBothPicturesOrNone(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	a := call(t, "", "score", "--png", filepath.Join(dir, "map.png"), "--svg", filepath.Join(dir, "none", "map.svg"), "testdata/score/five.csv")
	assert.Equal(t, exitFailed, a.code, "got exit %d, stdout %q, stderr %q; want 1 and the file", a.code, a.out, a.errors)
	assert.Equal(t, "", a.out, "got exit %d, stdout %q, stderr %q; want 1 and the file", a.code, a.out, a.errors)
	assert.Contains(t, a.errors, "map.svg: no such file or directory", "got exit %d, stdout %q, stderr %q; want 1 and the file", a.code, a.out, a.errors)
	mustHoldOnly(t, dir)
}

func TestScoreDeals(t *testing.T) {
	t.Parallel()
	list := "Assumption;statement\nA1;The ramp is steep.\nA2;=1+1\nA3;\n"
	form := call(t, list, "score", "--deal=form", "--people", "3", "--each", "2", "-")
	require.Equal(t, 0, form.code, form.errors)
	assert.Equal(t, "rater,assumption,statement,importance,evidence\nperson 1,A1,The ramp is steep.,,\nperson 1,A2,'=1+1,,\n"+
		"person 2,A1,The ramp is steep.,,\nperson 2,A3,,,\nperson 3,A2,'=1+1,,\nperson 3,A3,,,\n", form.out)
	assert.Equal(t, form, call(t, list, "score", "--deal=form", "--people", "3", "--each", "2", "-"), "the same list, other ballots")
	// What comes back filled in can be scored.
	scored := call(t, strings.ReplaceAll(form.out, ",,\n", ",7,3\n"), "score", "-")
	assert.Equal(t, 0, scored.code, scored.errors)
	room := call(t, list, "score", "--deal", "--people", "3", "--each", "2", "-")
	assert.Equal(t, 3, len(strings.Split(room.out, "\f")), "a page each")
	assert.Contains(t, room.out, "Ballot of person 2: 2 of 3 assumptions\n")
	for _, row := range []struct{ want, args string }{
		{"there is nobody to deal to; name people in the column rater, or say how many with --people", "--deal"},
		{`--deal is "form2"; it may be room or form`, "--deal=form2"},
		{"--deal prints ballots and scores nothing, so --json does not go with it", "--deal --json"},
		{"--each and --people go with --deal", "--each 3"},
		{"--each must be 1 or more; it is 0", "--deal --each 0"},
	} {
		got := call(t, list, append(append([]string{"score"}, strings.Fields(row.args)...), "-")...)
		assert.Equal(t, 2, got.code, row.args)
		assert.Contains(t, got.errors, row.want, row.args)
	}
}

func TestScoreWritesAPage(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "score.html")
	good(t, "score", "--html", file, "testdata/score/five.csv")
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Contains(t, string(data), "<h1>What to test first</h1>")
	assert.Contains(t, string(data), "data:image/svg")
}
