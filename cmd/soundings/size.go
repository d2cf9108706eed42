package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"soundings/bot/words"
	"soundings/engine"
)

func newSize() *cobra.Command {
	return group(&cobra.Command{
		Use:   "size",
		Short: "Say how many people or cases a test needs",
	}, newSizeSurvey(), newSizeSplit(), newSizeDiscover(), newSizeMark())
}

func newSizeSurvey() *cobra.Command {
	var margin, confidence, proportion float64
	var population int
	c := sizeCommand(&cobra.Command{
		Use:   "survey",
		Short: "For a share known to within a margin either way",
		Long: `How many answers a survey needs, so that a share is known to within a margin
either way. It supposes a random sample and an answer from everybody asked;
neither is common, so take the figure as the least that could do.`,
		Example: "  soundings size survey --margin 0.05 --population 2000",
	}, "Answers: %d", func() (engine.Size, error) {
		return engine.SurveySize(margin, confidence, proportion, population)
	}, "margin")
	c.Flags().Float64Var(&margin, "margin", 0, "half the `width` of the interval, such as 0.05 for five points either way")
	c.Flags().Float64Var(&confidence, "confidence", 0.95, "the `share` of such intervals that hold the true one")
	c.Flags().Float64Var(&proportion, "proportion", 0.5, "the `share` expected; 0.5 asks most")
	c.Flags().IntVar(&population, "population", 0, "how many `people` there are to ask (default 0, for many)")
	return c
}

func newSizeSplit() *cobra.Command {
	var base, lift, alpha, power float64
	c := sizeCommand(&cobra.Command{
		Use:   "split",
		Short: "For a difference between two arms to be noticed",
		Long: `How many people or cases each arm of a split test needs, so that a difference
between the two shares is noticed.`,
		Example: "  soundings size split --base 0.10 --lift 0.02",
	}, "In each arm: %d", func() (engine.Size, error) {
		return engine.SplitSize(base, lift, alpha, power)
	}, "base", "lift")
	c.Flags().Float64Var(&base, "base", 0, "the `share` today, such as 0.10 for 10 percent")
	c.Flags().Float64Var(&lift, "lift", 0, "the `difference` worth noticing, such as 0.02 for 10 against 12 percent")
	c.Flags().Float64Var(&alpha, "alpha", 0.05, "the `chance` that a difference is reported where there is none, two-sided")
	c.Flags().Float64Var(&power, "power", 0.8, "the `chance` that a true difference is noticed")
	return c
}

func newSizeDiscover() *cobra.Command {
	var share, target float64
	c := sizeCommand(&cobra.Command{
		Use:   "discover",
		Short: "For a problem to show up at least once",
		Long: `How many people to watch or hear, so that a problem which troubles a given share
of them shows up at least once. It is hopeful: shares differ between problems.`,
		Example: "  soundings size discover --share 0.31 --target 0.85",
	}, "People: %d", func() (engine.Size, error) {
		return engine.DiscoverSize(share, target)
	}, "share", "target")
	c.Flags().Float64Var(&share, "share", 0, "the `share` of people whom one problem troubles, such as 0.31")
	c.Flags().Float64Var(&target, "target", 0, "the `chance` wanted that it shows up, such as 0.85")
	return c
}

func newSizeMark() *cobra.Command {
	var mark, below, above float64
	var n int
	c := &cobra.Command{
		Use:   "mark",
		Short: "For a pass mark that seldom misleads",
		Long: `What k of n will count as, and how often a test with a pass mark misleads: how
often a belief that is true for a share below the mark passes, and how often one
that is true for a share above it falls short. Without --n it takes the smallest
number that does either at most one time in ten.`,
		Example: "  soundings size mark --mark 0.6 --n 12",
		Args:    noArguments,
	}
	c.Flags().Float64Var(&mark, "mark", 0, "the `share` that counts as support, such as 0.6")
	c.Flags().IntVar(&n, "n", 0, "how many `people` or cases (default the smallest for one in ten)")
	c.Flags().Float64Var(&below, "below", 0, "a true `share` below the mark (default 0.15 below it, or half of it)")
	c.Flags().Float64Var(&above, "above", 0, "a true `share` above the mark (default 0.15 above it, or half of the rest)")
	asJSON := c.Flags().Bool("json", false, "print the result as JSON")
	c.RunE = func(c *cobra.Command, _ []string) error {
		if err := needs(c, "mark"); err != nil {
			return err
		}
		report, err := engine.ReportMark(mark, n, below, above)
		if err != nil {
			return wrong(err)
		}
		return printResult(c, *asJSON, report, func() string { return words.MarkReportText(report) })
	}
	return c
}

// sizeCommand adds to c what all sizes have in common. text says the figure in
// words, find computes it from the flags, of which some are needed.
func sizeCommand(c *cobra.Command, text string, find func() (engine.Size, error), needed ...string) *cobra.Command {
	asJSON := c.Flags().Bool("json", false, "print the result as JSON")
	c.Args = noArguments
	c.RunE = func(c *cobra.Command, _ []string) error {
		if err := needs(c, needed...); err != nil {
			return err
		}
		size, err := find()
		if err != nil {
			return wrong(err)
		}
		return printResult(c, *asJSON, size, func() string { return fmt.Sprintf(text+"\n%s\n", size.N, size.Source) })
	}
	return c
}
