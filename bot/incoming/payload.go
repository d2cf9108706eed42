package incoming

import "github.com/slack-go/slack"

// An Interaction is what we read of a pressed button, a choice, a form or a
// shortcut. The platform sends the whole message or form along; decoding all
// of it for each tap on a ballot would be most of the work, and a block that
// the client library cannot read would cost somebody their answer.
type Interaction struct {
	Type        slack.InteractionType `json:"type"`
	CallbackID  string                `json:"callback_id"` // of a shortcut
	TriggerID   string                `json:"trigger_id"`
	ResponseURL string                `json:"response_url"`
	Team        struct {
		ID string `json:"id"`
	} `json:"team"`
	User struct {
		ID string `json:"id"`
	} `json:"user"`
	Channel struct {
		ID string `json:"id"`
	} `json:"channel"`
	Message struct {
		Text string `json:"text"`
	} `json:"message"`
	Container struct {
		Channel   string `json:"channel_id"`
		TS        string `json:"message_ts"`
		Ephemeral bool   `json:"is_ephemeral"`
	} `json:"container"`
	View    FormView            `json:"view"`
	Actions []slack.BlockAction `json:"actions"`
}

// A FormView is the form or home tab in which something was pressed or sent.
type FormView struct {
	ID              string         `json:"id"`
	Type            slack.ViewType `json:"type"`
	CallbackID      string         `json:"callback_id"`
	PrivateMetadata string         `json:"private_metadata"`
	Blocks          []BlockHead    `json:"blocks"`
	State           struct {
		Values map[string]map[string]slack.BlockAction `json:"values"`
	} `json:"state"`
}

// A BlockHead tells a block's kind and name.
type BlockHead struct {
	Type slack.MessageBlockType `json:"type"`
	ID   string                 `json:"block_id"`
}
