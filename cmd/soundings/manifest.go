package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"soundings/bot/manifest"
)

func newManifest() *cobra.Command {
	var c manifest.Config
	command := &cobra.Command{
		Use:   "manifest",
		Short: "Print the app manifest",
		Long: "Manifest prints what an administrator pastes to create the app: for Socket Mode,\n" +
			"which needs no public address, or with --address for HTTP. With --install it also names\n" +
			"the page to which people come back when several workplaces install the app.\n\n" +
			"A workplace may take these scopes away, and the bot does a little less:\n\n" + optionalText(),
		Example: "  soundings manifest\n" +
			"  soundings manifest --address https://soundings.example.com\n" +
			"  soundings manifest --install https://soundings.example.com",
		Args: noArguments,
		RunE: func(command *cobra.Command, _ []string) error {
			data, err := manifest.New(c)
			if err != nil {
				return wrong(err)
			}
			return printText(command, string(data))
		},
	}
	command.Flags().StringVar(&c.Address, "address", "", "the public https `url` of the bot, for HTTP (default none, for Socket Mode)")
	command.Flags().StringVar(&c.Install, "install", "", "for several workplaces: the public https `url` of the bot, as in SOUNDINGS_PUBLIC_URL (default none, for one)")
	command.Flags().StringVar(&c.Name, "name", "Soundings", "the `name` of the app")
	command.Flags().StringVar(&c.Command, "command", "/soundings", "the slash `command`")
	return command
}

// optionalText has a line for each optional scope.
func optionalText() string {
	var b strings.Builder
	for _, s := range manifest.OptionalScopes() {
		fmt.Fprintf(&b, "  %s: without it %s\n", s.Name, s.Without)
	}
	return b.String()
}
