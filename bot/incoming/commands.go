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
		err = c.form(ctx, "assumptions.add")
	case "hours":
		err = c.form(ctx, "me.hours")
	case "mute":
		err = c.act(ctx, "me.mute")
	case "unmute":
		err = c.act(ctx, "me.unmute")
	case "join":
		err = c.join(ctx)
	default:
		return ephemeral(screens.Help(v.Command, word)), nil
	}
	var refusal *flows.Refusal
	if errors.As(err, &refusal) {
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

// channelFree refuses a channel in which a kickoff is open, before anybody
// fills in a brief for nothing. The empty channel is one yet to be chosen.
func (t *team) channelFree(ctx context.Context, channel string) error {
	if channel == "" {
		return nil
	}
	_, open, err := t.Kickoffs.InChannel(ctx, t.id, channel)
	if err == nil && open {
		err = &flows.Refusal{Reason: "A kickoff is open in this channel already. End that one first, or start in another channel."}
	}
	return err
}

// request finds the kickoff of the channel in which a command was typed.
func (c command) request(ctx context.Context) (*request, error) {
	key, open, err := c.Kickoffs.InChannel(ctx, c.id, c.ChannelID)
	if err != nil {
		return nil, err
	}
	if !open {
		return nil, &flows.Refusal{Reason: "No kickoff is open in this channel. Start one with " + c.team.Command + " start."}
	}
	k, err := c.Kickoffs.Load(ctx, key)
	if err != nil {
		return nil, err
	}
	args := screens.Args{Kickoff: key.Kickoff, Stage: string(k.Stage), Round: k.Window.Round}
	return &request{team: c.team, key: key, trigger: c.TriggerID, url: c.ResponseURL, delivery: "command/" + c.TriggerID,
		page: screens.Page{Kickoff: k, Viewer: flows.UserID(c.UserID), Now: c.Clock(), Args: args}}, nil
}

func (c command) form(ctx context.Context, form string) error {
	r, err := c.request(ctx)
	if err != nil {
		return err
	}
	view, err := screens.Open(form, r.page)
	if err != nil {
		return err
	}
	return c.chat.OpenView(ctx, c.TriggerID, view)
}

func (c command) act(ctx context.Context, action string) error {
	r, err := c.request(ctx)
	if err != nil {
		return err
	}
	intent, thanks, err := screens.Do(action, r.page)
	if err != nil {
		return err
	}
	if err := r.do(ctx, intent); err != nil {
		return err
	}
	return r.respond(ctx, thanks)
}

// join asks the lead to let somebody in.
func (c command) join(ctx context.Context) error {
	r, err := c.request(ctx)
	if err != nil {
		return err
	}
	who := flows.UserID(c.UserID)
	intent, err := r.complete(ctx, flows.AskToJoin{FromOutside: flows.FromOutside{Who: who}, Person: flows.Person{ID: who}})
	if err != nil {
		return err
	}
	if err := r.do(ctx, intent); err != nil {
		return err
	}
	if k, err := c.Kickoffs.Load(ctx, r.key); err == nil && k.Takes(who) { // nobody was left to ask
		return r.respond(ctx, "Everybody had left, so you are in, and lead it now.")
	}
	return r.respond(ctx, "I have asked "+r.page.Kickoff.Lead().Name+". You will hear from them.")
}
