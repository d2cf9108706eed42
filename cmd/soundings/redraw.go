package main

import (
	"fmt"
	"log/slog"
	"strings"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/spf13/cobra"

	"soundings/bot/words"
)

func newRedraw(s settings) *cobra.Command {
	return &cobra.Command{
		Use:   "redraw",
		Short: "Compare the channels with the journal, and redraw what differs",
		Long: "Redraw is for after an older copy of Redis was restored: channels may show then what the\n" +
			"journal does not know. It looks at the newest messages in the channel of each open\n" +
			"kickoff. Where one shows more than the journal knows, the bot that runs takes away what\n" +
			"never was, brings all other messages up to date, and tells the lead. serve does the same\n" +
			"once at its start. Its settings are those of serve:\n\n" + settingsHelp,
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error { return redraw(c, s) },
	}
}

func redraw(c *cobra.Command, s settings) error {
	rdb, err := openChecked(c.Context(), s)
	if err != nil {
		return err
	}
	defer func() { _ = rdb.Close() }() // nothing is waiting to be written
	p := &service{settings: s, rdb: rdb, log: slog.New(slog.NewJSONHandler(c.ErrOrStderr(), nil)), metrics: prometheus.NewRegistry()}
	if err := p.build(); err != nil {
		return err
	}
	compared, behind, err := p.bot.Compare(c.Context())
	if err != nil {
		return err
	}
	text := fmt.Sprintf("%s compared; ", words.Count(compared, "open kickoff was", "open kickoffs were"))
	if len(behind) == 0 {
		return printText(c, text+"what stands in the channels is what the journal knows.\n")
	}
	var names []string
	for _, key := range behind {
		names = append(names, key.Kickoff)
	}
	return printText(c, text+"the bot that runs redraws "+strings.Join(names, ", ")+".\n")
}
