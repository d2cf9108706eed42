package bot

import (
	"context"
	"errors"
	"strings"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/journal"
	"soundings/bot/screens"
	"soundings/flows"
)

// SlashCommand handles the bot's one command. Its answer is for the person
// who typed it, and nobody else.
func (b *Bot) SlashCommand(ctx context.Context, c slack.SlashCommand) (answer any, err error) {
	began := time.Now()
	defer func() { b.Metrics.request("command", began, time.Now(), err) }()
	if b, err = b.at(ctx, c.TeamID); errors.Is(err, errAway) {
		return ephemeral(screens.Escape(screens.Uninstalled(b.InstallPage))), nil
	} else if err != nil {
		return nil, err
	}
	word, _, _ := strings.Cut(strings.TrimSpace(c.Text), " ")
	switch word {
	case "start":
		err = b.commandStart(ctx, c)
	case "add":
		err = b.commandForm(ctx, c, "assumptions.add")
	case "hours":
		err = b.commandForm(ctx, c, "me.hours")
	case "mute":
		err = b.commandDo(ctx, c, "me.mute")
	case "unmute":
		err = b.commandDo(ctx, c, "me.unmute")
	case "join":
		err = b.commandJoin(ctx, c)
	default:
		return ephemeral(screens.Help(b.Command, word)), nil
	}
	var refusal *flows.Refusal
	if errors.As(err, &refusal) {
		return ephemeral(screens.Escape(refusal.Reason)), nil
	}
	return nil, err
}

func ephemeral(text string) any {
	return map[string]string{"response_type": slack.ResponseTypeEphemeral, "text": text}
}

// commandStart opens the brief. Its channel travels with the form.
func (b *Bot) commandStart(ctx context.Context, c slack.SlashCommand) error {
	if err := b.channelFree(ctx, c.TeamID, c.ChannelID); err != nil {
		return err
	}
	page := screens.Page{Viewer: flows.UserID(c.UserID), Now: b.Clock(), Args: screens.Args{Choice: c.ChannelID}}
	view, err := screens.Open("brief.start", page)
	if err != nil {
		return err
	}
	return b.Chat.OpenView(ctx, c.TriggerID, view)
}

// channelFree refuses a channel in which a kickoff is open, before anybody
// fills in a brief for nothing. The empty channel is one yet to be chosen.
func (b *Bot) channelFree(ctx context.Context, team, channel string) error {
	if channel == "" {
		return nil
	}
	open, err := b.Journal.Index.InChannel(ctx, team, channel)
	if err == nil && open != "" {
		err = &flows.Refusal{Reason: "A kickoff is open in this channel already. End that one first, or start in another channel."}
	}
	return err
}

// here finds the kickoff of the channel in which a command was typed.
func (b *Bot) here(ctx context.Context, c slack.SlashCommand) (visit, error) {
	id, err := b.Journal.Index.InChannel(ctx, c.TeamID, c.ChannelID)
	if err != nil {
		return visit{}, err
	}
	if id == "" {
		return visit{}, &flows.Refusal{Reason: "No kickoff is open in this channel. Start one with " + b.Command + " start."}
	}
	key := journal.Key{Team: c.TeamID, Kickoff: id}
	k, err := b.load(ctx, key)
	if err != nil {
		return visit{}, err
	}
	args := screens.Args{Kickoff: id, Stage: string(k.Stage), Round: k.Window.Round}
	return visit{key: key, trigger: c.TriggerID, respond: c.ResponseURL, delivery: "command/" + c.TriggerID,
		page: screens.Page{Kickoff: k, Viewer: flows.UserID(c.UserID), Now: b.Clock(), Args: args}}, nil
}

func (b *Bot) commandForm(ctx context.Context, c slack.SlashCommand, form string) error {
	v, err := b.here(ctx, c)
	if err != nil {
		return err
	}
	view, err := screens.Open(form, v.page)
	if err != nil {
		return err
	}
	return b.Chat.OpenView(ctx, c.TriggerID, view)
}

func (b *Bot) commandDo(ctx context.Context, c slack.SlashCommand, deed string) error {
	v, err := b.here(ctx, c)
	if err != nil {
		return err
	}
	intent, thanks, err := screens.Do(deed, v.page)
	if err != nil {
		return err
	}
	if err := b.do(ctx, v.key, intent, v.delivery); err != nil {
		return err
	}
	return b.whisper(ctx, v, thanks)
}

// commandJoin asks the lead to let somebody in.
func (b *Bot) commandJoin(ctx context.Context, c slack.SlashCommand) error {
	v, err := b.here(ctx, c)
	if err != nil {
		return err
	}
	who := flows.UserID(c.UserID)
	intent, err := b.complete(ctx, v, flows.AskToJoin{FromOutside: flows.FromOutside{Who: who}, Person: flows.Person{ID: who}})
	if err != nil {
		return err
	}
	if err := b.do(ctx, v.key, intent, v.delivery); err != nil {
		return err
	}
	if k, err := b.load(ctx, v.key); err == nil && k.Takes(who) { // nobody was left to ask
		return b.whisper(ctx, v, "Everybody had left, so you are in, and lead it now.")
	}
	return b.whisper(ctx, v, "I have asked "+v.page.Kickoff.Lead().Name+". You will hear from them.")
}
