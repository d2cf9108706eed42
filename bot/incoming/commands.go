package incoming

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens"
	"soundings/bot/screens/screen"
	"soundings/bot/teams"
	"soundings/flows"
	"soundings/flows/state"
)

// words are what may follow the slash command.
var words = []string{"start", "add", "hours", "mute", "unmute", "join"}

// SlashCommand handles the bot's one command. Its answer is for the person
// who typed it, and nobody else.
func (v *Receiver) SlashCommand(ctx context.Context, typed slack.SlashCommand) (answer any, err error) {
	defer v.count("command", time.Now(), &err)
	t, err := v.forTeam(ctx, typed.TeamID)
	if errors.Is(err, teams.ErrUninstalled) {
		return ephemeral(block.Escape(screens.Uninstalled(v.InstallPage))), nil
	}
	if err != nil {
		return nil, err
	}
	word, _, _ := strings.Cut(strings.TrimSpace(typed.Text), " ")
	if !slices.Contains(words, word) {
		return ephemeral(screens.Help(v.Command, word)), nil
	}
	if typed.TriggerID == "" {
		return nil, errNoTrigger
	}
	r, err := t.inChannel(ctx, typed.ChannelID, typed.UserID, "command/"+typed.TriggerID)
	if err != nil {
		return nil, err
	}
	r.TriggerID, r.ResponseURL = typed.TriggerID, typed.ResponseURL
	err = r.command(ctx, word, typed.ChannelID)
	if refusal, is := errors.AsType[*flows.Refusal](err); is {
		return ephemeral(block.Escape(refusal.Reason)), nil
	}
	return nil, err
}

func ephemeral(text string) any {
	return map[string]string{"response_type": slack.ResponseTypeEphemeral, "text": text}
}

// command does what a word of the command means in a channel.
func (r *request) command(ctx context.Context, word, channel string) error {
	switch open := r.key.Kickoff != ""; {
	case word == "start" && open:
		return channelTaken("")
	case word == "start":
		r.page.Args = screen.Args{Choice: channel} // it travels with the form
		return r.open(ctx, "brief.start")
	case !open:
		return &flows.Refusal{Reason: "No kickoff is open in this channel. Start one with " + r.Command + " start."}
	}
	k := r.page.Kickoff
	r.page.Args.Stage, r.page.Args.Round = string(k.Stage), k.Window.Round
	switch word {
	case "add":
		return r.open(ctx, "assumptions.add")
	case "join":
		return r.join(ctx)
	case "hours":
		return r.open(ctx, "me.hours")
	}
	return r.act(ctx, "me."+word)
}

// join asks the lead to let somebody in.
func (r *request) join(ctx context.Context) error {
	who := r.page.Viewer
	intent, err := r.complete(ctx, flows.AskToJoin{FromOutside: flows.FromOutside{Who: who}, Person: state.Person{ID: who}})
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
