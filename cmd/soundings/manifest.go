package main

import (
	"github.com/spf13/cobra"

	"soundings/bot"
)

func newManifest() *cobra.Command {
	var c bot.ManifestConfig
	command := &cobra.Command{
		Use:   "manifest",
		Short: "Print the app manifest",
		Long: "Manifest prints what an administrator pastes to create the app: for Socket Mode,\n" +
			"or with --address for HTTP.",
		Args: noArguments,
		RunE: func(command *cobra.Command, _ []string) error {
			data, err := bot.Manifest(c)
			if err != nil {
				return wrong(err)
			}
			_, err = command.OutOrStdout().Write(data)
			return err
		},
	}
	command.Flags().StringVar(&c.Address, "address", "", "public https address of the bot, for HTTP; leave out for Socket Mode")
	command.Flags().StringVar(&c.Name, "name", "Soundings", "name of the app")
	command.Flags().StringVar(&c.Command, "command", "/soundings", "the slash command")
	return command
}
