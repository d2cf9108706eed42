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

	"soundings/engine"
)

const scoreFolder = "../../testdata/score"

// fromTop is a path as the program sees it, which runs at the top.
func fromTop(path string) string { return strings.TrimPrefix(path, "../../") }

// swapEnding puts another ending in place of .csv.
func swapEnding(path, ending string) string { return strings.TrimSuffix(path, ".csv") + ending }

func TestScoreReports(t *testing.T) {
	for _, path := range glob(t, scoreFolder+"/*.csv") {
		t.Run(filepath.Base(path), func(t *testing.T) {
			golden(t, swapEnding(path, ".txt"), good(t, "score", fromTop(path)))
		})
	}
}

func TestScoreRefusals(t *testing.T) {
	for _, path := range glob(t, scoreFolder+"/bad/*.csv") {
		t.Run(filepath.Base(path), func(t *testing.T) {
			a := call(t, "", "score", "--json", fromTop(path))
			if a.code != exitWrong || a.out != "" {
				t.Errorf("got exit %d, stdout %q; want 2 and nothing", a.code, a.out)
			}
			where := fromTop(path) + ":"
			if !strings.HasPrefix(a.errors, where) || strings.Count(a.errors, "\n") != 1 {
				t.Errorf("stderr %q is not one line that begins with %s", a.errors, where)
			}
			golden(t, swapEnding(path, ".err"), a.errors)
		})
	}
}

// The figures of five.csv are derived by hand in testdata/scenarios/five.yaml.
func TestScoreAgreesWithFiguresByHand(t *testing.T) {
	expected, err := os.ReadFile("../../testdata/scenarios/five.expected.json")
	if err != nil {
		t.Fatal(err)
	}
	var want struct {
		Score map[string]any `json:"score"`
	}
	if err := json.Unmarshal(expected, &want); err != nil {
		t.Fatal(err)
	}
	var got map[string]any
	if err := json.Unmarshal([]byte(good(t, "score", "--json", "testdata/score/five.csv")), &got); err != nil {
		t.Fatal(err)
	}
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
		if len(list) != len(want) {
			t.Errorf("%s: got %d items, want %d", path, len(list), len(want))
			return
		}
		for i, w := range want {
			mustHold(t, fmt.Sprintf("%s[%d]", path, i), list[i], w)
		}
	case float64:
		if n, ok := got.(float64); !ok || math.Abs(n-want) > 1e-9 {
			t.Errorf("%s: got %v, want %v", path, got, want)
		}
	default:
		if got != want {
			t.Errorf("%s: got %v, want %v", path, got, want)
		}
	}
}

// The keys that programs rely on, at each level, in alphabetical order.
func TestScoreJSONShape(t *testing.T) {
	const (
		spread  = "agreement disagreement ipr_high ipr_low ipras iqr median n q1 q3"
		concord = "ballots chi2 df left_out p w"
	)
	for _, path := range glob(t, scoreFolder+"/*.csv") {
		var got struct {
			Assumptions []map[string]json.RawMessage
			Cut         json.RawMessage
			Concordance map[string]json.RawMessage
		}
		out := []byte(good(t, "score", "--json", fromTop(path)))
		if err := json.Unmarshal(out, &got); err != nil {
			t.Fatalf("%s: %v", path, err)
		}
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
			mustHaveKeys(t, path, whole, "evidence id importance layer levelled_evidence levelled_importance levelled_rank "+
				"rank rank_high rank_low statement thin top3 zone")
		}
	}
}

func mustHaveKeys(t *testing.T, path string, object []byte, want string) {
	t.Helper()
	var got map[string]json.RawMessage
	if err := json.Unmarshal(object, &got); err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	var keys []string
	for key := range got {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	if strings.Join(keys, " ") != want {
		t.Errorf("%s: got the keys %s, want %s", path, strings.Join(keys, " "), want)
	}
}

// What is undefined is null, never 0.
func TestScoreJSONOfTheUnranked(t *testing.T) {
	out := good(t, "score", "--json", "testdata/score/unrated.csv")
	var got map[string]any
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatal(err)
	}
	for _, a := range got["assumptions"].([]any)[1:] {
		a := a.(map[string]any)
		for _, key := range []string{"zone", "layer", "rank", "top3", "rank_low", "rank_high", "levelled_rank"} {
			if value, there := a[key]; !there || value != nil {
				t.Errorf("%s of %s: got %v, want null", key, a["id"], value)
			}
		}
	}
	if got := fmt.Sprint(got["order"]); got != "[A1 A2 A3]" {
		t.Errorf("order: got %s, want the unranked last", got)
	}
}

func TestScoreReadsStandardInput(t *testing.T) {
	table, err := os.ReadFile(scoreFolder + "/five.csv")
	if err != nil {
		t.Fatal(err)
	}
	want := good(t, "score", "--json", "testdata/score/five.csv")
	if a := call(t, string(table), "score", "--json", "-"); a.code != exitGood || a.out != want {
		t.Errorf("from standard input: exit %d, stderr %q, or another result", a.code, a.errors)
	}
	a := call(t, "rater\n", "score", "-")
	if a.code != exitWrong || !strings.HasPrefix(a.errors, "standard input:1: ") {
		t.Errorf("got exit %d, stderr %q; want 2 and line 1 of standard input", a.code, a.errors)
	}
}

func TestScoreFlags(t *testing.T) {
	const file = "testdata/score/five.csv"
	base := good(t, "score", "--json", file)
	if got := good(t, "score", "--json", "--seed", "1", file); got != base {
		t.Error("--seed 1 is not the default")
	}
	if got := good(t, "score", "--json", "--seed", "2", file); got == base {
		t.Error("--seed 2 draws the same resamples as seed 1")
	}
	// A6 has 4 ratings: fewer than half of 9.
	for asked, want := range map[string]bool{"8": false, "9": true} {
		var r engine.Result
		if err := json.Unmarshal([]byte(good(t, "score", "--json", "--asked", asked, file)), &r); err != nil {
			t.Fatal(err)
		}
		if got := r.Assumptions[5].Thin; got != want {
			t.Errorf("--asked %s: thin is %t for 4 ratings, want %t", asked, got, want)
		}
	}
}

func TestScoreWrongUsage(t *testing.T) {
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
		{"two pictures in one file", []string{"--png", "out/map", "--svg", "out/map", file}, "--svg would write over out/map; name another file"},
	} {
		t.Run(tt.rule, func(t *testing.T) { mustRefuse(t, tt.want, append([]string{"score"}, tt.args...)...) })
	}
}

func TestScoreDrawsTheMap(t *testing.T) {
	for _, path := range glob(t, scoreFolder+"/*.csv") {
		t.Run(filepath.Base(path), func(t *testing.T) {
			dir := t.TempDir()
			asPNG, asSVG := filepath.Join(dir, "map.png"), filepath.Join(dir, "map.svg")
			good(t, "score", "--png", asPNG, "--svg", asSVG, fromTop(path))
			picture, err := png.Decode(bytes.NewReader(read(t, asPNG)))
			if err != nil {
				t.Fatalf("the PNG does not decode: %v", err)
			}
			if size := picture.Bounds().Size(); size.X < 360 || size.Y < 360 {
				t.Errorf("the PNG is %v, want at least 360 by 360", size)
			}
			if err := wellFormed(read(t, asSVG)); err != nil {
				t.Errorf("the SVG is not XML: %v", err)
			}
			mustHoldOnly(t, dir, "map.png", "map.svg")
		})
	}
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
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
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		got = append(got, e.Name())
	}
	if !slices.Equal(got, want) {
		t.Errorf("%s holds %v, want %v", dir, got, want)
	}
}

func TestScoreOfBadInputWritesNothing(t *testing.T) {
	dir := t.TempDir()
	kept := filepath.Join(dir, "map.png")
	if err := os.WriteFile(kept, []byte("the map of yesterday"), 0o600); err != nil {
		t.Fatal(err)
	}
	a := call(t, "", "score", "--png", kept, "--svg", filepath.Join(dir, "map.svg"), "testdata/score/bad/rating-ten.csv")
	if a.code != exitWrong {
		t.Errorf("got exit %d, want 2", a.code)
	}
	mustHoldOnly(t, dir, "map.png")
	if got := string(read(t, kept)); got != "the map of yesterday" {
		t.Errorf("the file that was there now holds %d other bytes", len(got))
	}
}

// Where one picture cannot be written, neither is.
func TestScoreWritesBothPicturesOrNone(t *testing.T) {
	dir := t.TempDir()
	a := call(t, "", "score", "--png", filepath.Join(dir, "map.png"), "--svg", filepath.Join(dir, "none", "map.svg"), "testdata/score/five.csv")
	if a.code != exitFailed || a.out != "" || !strings.Contains(a.errors, "map.svg: no such file or directory") {
		t.Errorf("got exit %d, stdout %q, stderr %q; want 1 and the file", a.code, a.out, a.errors)
	}
	mustHoldOnly(t, dir)
}

func TestScoreOfManyRatings(t *testing.T) {
	if testing.Short() {
		t.Skip("500 raters by 1,000 assumptions take some seconds")
	}
	const raters, assumptions = 500, 1000
	var table strings.Builder
	table.WriteString("rater,assumption,importance,evidence\n")
	for r := range raters {
		for a := range assumptions {
			fmt.Fprintf(&table, "R%d,A%d,%d,%d\n", r, a, 1+(r*7+a*3+r*a)%9, 1+(r*5+a)%9)
		}
	}
	a := call(t, table.String(), "score", "--json", "-")
	if a.code != exitGood {
		t.Fatalf("exit %d: %s", a.code, a.errors)
	}
	var result engine.Result
	if err := json.Unmarshal([]byte(a.out), &result); err != nil {
		t.Fatal(err)
	}
	if result.Raters != raters || len(result.Order) != assumptions {
		t.Errorf("got %d raters and %d in order, want %d and %d", result.Raters, len(result.Order), raters, assumptions)
	}
}
