package incoming

import (
	"context"
	"errors"
	"strings"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens"
	"soundings/bot/teams"
	"soundings/flows"
)

// A command is the bot's slash command as somebody typed it in a team.
type command struct {
	*team
	slack.SlashCommand
}

// SlashCommand handles the bot's one command. Its answer is for the person
// who typed it, and nobody else.
func (v *Receiver) SlashCommand(ctx context.Context, typed slack.SlashCommand) (answer any, err error) {
	began := time.Now()
	defer func() { v.count("command", began, err) }()
	t, err := v.forTeam(ctx, typed.TeamID)
	if errors.Is(err, teams.ErrUninstalled) {
		return ephemeral(block.Escape(screens.Uninstalled(v.InstallPage))), nil
	}
	if err != nil {
		return nil, err
	}
	c := command{t, typed}
	word, _, _ := strings.Cut(strings.TrimSpace(c.Text), " ")
	switch word {
	case "start":
		err = c.start(ctx)
	case "add":
		err = c.inChannel(ctx, func(r *request) error { return r.open(ctx, "assumptions.add") })
	case "hours":
		err = c.inChannel(ctx, func(r *request) error { return r.open(ctx, "me.hours") })
	case "mute", "unmute":
		err = c.inChannel(ctx, func(r *request) error { return r.act(ctx, "me."+word) })
	case "join":
		err = c.inChannel(ctx, func(r *request) error { return r.join(ctx) })
	default:
		return ephemeral(screens.Help(v.Command, word)), nil
	}
	if refusal, is := errors.AsType[*flows.Refusal](err); is {
		return ephemeral(block.Escape(refusal.Reason)), nil
	}
	return nil, err
}

func ephemeral(text string) any {
	return map[string]string{"response_type": slack.ResponseTypeEphemeral, "text": text}
}

// start opens the brief. Its channel travels with the form.
func (c command) start(ctx context.Context) error {
	if err := c.channelFree(ctx, c.ChannelID); err != nil {
		return err
	}
	page := screens.Page{Viewer: flows.UserID(c.UserID), Now: c.Clock(), Args: screens.Args{Choice: c.ChannelID}}
	view, err := screens.Open("brief.start", page)
	if err != nil {
		return err
	}
	return c.chat.OpenView(ctx, c.TriggerID, view)
}

// inChannel does something with the kickoff of the channel in which a command
// was typed.
func (c command) inChannel(ctx context.Context, do func(*request) error) error {
	key, k, open, err := c.Kickoffs.InChannel(ctx, c.id, c.ChannelID)
	if err != nil {
		return err
	}
	if !open {
		return &flows.Refusal{Reason: "No kickoff is open in this channel. Start one with " + c.team.Command + " start."}
	}
	args := screens.Args{Kickoff: key.Kickoff, Stage: string(k.Stage), Round: k.Window.Round}
	return do(&request{team: c.team, key: key, trigger: c.TriggerID, url: c.ResponseURL, delivery: "command/" + c.TriggerID,
		page: screens.Page{Kickoff: k, Viewer: flows.UserID(c.UserID), Now: c.Clock(), Args: args}})
}

// join asks the lead to let somebody in.
func (r *request) join(ctx context.Context) error {
	who := r.page.Viewer
	intent, err := r.complete(ctx, flows.AskToJoin{FromOutside: flows.FromOutside{Who: who}, Person: flows.Person{ID: who}})
	if err == nil {
		err = r.do(ctx, intent)
	}
	if err != nil {
		return err
	}
	if k, err := r.Kickoffs.Load(ctx, r.key); err == nil && k.Takes(who) { // nobody was left to ask
		return r.respond(ctx, "Everybody had left, so you are in, and lead it now.")
	}
	return r.respond(ctx, "I have asked "+r.page.Kickoff.Lead().Name+". You will hear from them.")
}
