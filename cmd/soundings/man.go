package main

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

// newMan writes the manual pages, for whoever packs the program: what is in them
// is what --help says. Their date is SOURCE_DATE_EPOCH, where that is set, so that
// a release has the same bytes whenever it is made.
func newMan() *cobra.Command {
	out := ""
	c := &cobra.Command{
		Use:    "man",
		Short:  "Write the manual pages",
		Hidden: true,
		Args:   noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			if err := needs(c, "out"); err != nil {
				return err
			}
			if err := mustTakeFiles(out); err != nil {
				return err
			}
			if err := os.MkdirAll(out, 0o777); err != nil {
				return fmt.Errorf("make the folder %w", fileError(out, err))
			}
			c.Root().DisableAutoGenTag = true // it holds the day
			if err := doc.GenManTree(c.Root(), &doc.GenManHeader{Source: "Soundings"}, out); err != nil {
				return fmt.Errorf("write the manual pages: %w", err)
			}
			return nil
		},
	}
	c.Flags().StringVar(&out, "out", "", "write them into this `folder`, which is made if need be")
	return c
}
