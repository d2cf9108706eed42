package main

import (
	"cmp"
	"fmt"
	"runtime/debug"
	"strings"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/spf13/cobra"

	"soundings/flows/event"
)

// The linker sets release where a release is built, and revision where an image
// is built, without the repository; else the version control system says what
// this is.
var release, revision string

// A build is what this program was made from.
type build struct {
	Release       string `json:"release"`
	Commit        string `json:"commit"`
	Go            string `json:"go"`
	JournalFormat int    `json:"journal_format"`
}

func version() build {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return build{Release: cmp.Or(release, "unknown"), JournalFormat: event.JournalFormat()}
	}
	set := map[string]string{}
	for _, s := range info.Settings {
		set[s.Key] = s.Value
	}
	commit := cmp.Or(set["vcs.revision"], revision, "unknown")
	if set["vcs.modified"] == "true" {
		commit += ", with changes"
	}
	return build{cmp.Or(release, strings.Trim(info.Main.Version, "()"), "devel"), commit, info.GoVersion, event.JournalFormat()}
}

func newVersion() *cobra.Command {
	asJSON := false
	c := &cobra.Command{
		Use:   "version",
		Short: "Say which release this is",
		Long: "Version says which release this is, the commit and the Go that it was built with, and\n" +
			"the format of its journal: a release reads every journal of the same or a lower number.",
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			b := version()
			return printResult(c, asJSON, b, func() string {
				return fmt.Sprintf("soundings %s\ncommit    %s\nbuilt with %s\njournal format %d\n", b.Release, b.Commit, b.Go, b.JournalFormat)
			})
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return c
}

// buildInfo is the same for the metrics.
func buildInfo() prometheus.Collector {
	b := version()
	return prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "soundings_build_info", Help: "Always 1; the labels say what runs.",
		ConstLabels: prometheus.Labels{"release": b.Release, "commit": b.Commit, "go": b.Go, "journal_format": fmt.Sprint(b.JournalFormat)}},
		func() float64 { return 1 })
}
