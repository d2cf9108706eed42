package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"soundings/bot/report/schematest"
	"soundings/engine"
)

// What is printed for programs is as its schema has it.
func TestSchemas(t *testing.T) {
	t.Run("score", func(t *testing.T) {
		s := schematest.Read(t, ".", "score.schema.json")
		s.Says(engine.Result{})
		for _, path := range glob(t, "testdata/score/*.csv") {
			s.Holds([]byte(good(t, "score", "--json", path)))
		}
		small := read(t, "testdata/score/small.json")
		s.Holds(small)
		flat := "rater,assumption,importance,evidence\n" + strings.Repeat("R,A,5,5\n", 1)
		for _, a := range strings.Split("BCDEFGHIJK", "") {
			flat += "R," + a + ",5,5\n"
		}
		all := call(t, flat, "score", "--json", "-")
		require.Contains(t, all.out, `"flat"`)
		s.Holds([]byte(all.out))
		s.Refuses(small, "soon", "assumptions", "zone")
		s.Refuses(small, "torn", "assumptions", "importance", "agreement")
		s.Refuses(small, 9.5, "assumptions", "evidence", "median")
		s.Refuses(small, 0, "assumptions", "rank")
		s.Refuses(small, 1.01, "assumptions", "top3")
	})
	t.Run("size", func(t *testing.T) {
		s := schematest.Read(t, ".", "size.schema.json")
		s.Says(engine.Size{})
		for _, args := range []string{"survey --margin 0.05", "survey --margin 0.05 --population 2000", "split --base 0.10 --lift 0.02", "discover --share 0.31 --target 0.85"} {
			out := []byte(good(t, strings.Fields("size "+args+" --json")...))
			s.Holds(out)
			s.Refuses(out, 0, "n")
			s.Refuses(out, "", "source")
		}
	})
	t.Run("size mark", func(t *testing.T) {
		s := schematest.Read(t, ".", "size-mark.schema.json")
		s.Says(engine.MarkReport{})
		for _, args := range []string{"--mark 0.6", "--mark 0.6 --n 12", "--mark 1 --n 2", "--mark 0.02 --n 3"} {
			out := []byte(good(t, strings.Fields("size mark --json "+args)...))
			s.Holds(out)
			s.Refuses(out, 1.1, "mark")
			s.Refuses(out, -0.1, "false_pass")
		}
	})
	t.Run("window", func(t *testing.T) {
		s := schematest.Read(t, ".", "window.schema.json")
		s.Says(windowResult{})
		out := []byte(good(t, strings.Fields("window --json --from 2027-03-26T09:00:00Z --hours 7.5 --zone Asia/Kolkata --zone Pacific/Auckland")...))
		s.Holds(out)
		s.Refuses(out, "Monday", "closes")
		s.Refuses(out, "2027-03-29", "each", "local")
		s.Refuses(out, []any{}, "each")
	})
	t.Run("version", func(t *testing.T) {
		s := schematest.Read(t, ".", "version.schema.json")
		s.Says(build{})
		out := []byte(good(t, "version", "--json"))
		s.Holds(out)
		s.Refuses(out, "86", "journal_format")
	})
}
