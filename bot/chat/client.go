// Package chat is the client of the platform's Web API: one method for each
// thing that the bot asks or tells the platform, and errors that say what a
// caller can do about a failure.
//
// It knows nothing of how a kickoff goes on, and keeps nothing but the bot's
// own account: when to call, whether to try again and what to remember of a
// call is for its callers. Start with [New], [Client] and [ErrForbidden].
package chat

import (
	"context"
	"net/http"
	"sync"
	"time"

	"github.com/slack-go/slack"

	"soundings/flows/state"
)

// A Client calls the Web API with the token of one team. It makes each call
// once: waiting and trying again is the queue's work.
type Client struct {
	api    *slack.Client
	client *http.Client
	apiURL string // of another Web API; empty for the platform itself

	mu   sync.Mutex
	self state.UserID // the bot's own account, once it was asked for
}

// CallTimeout bounds every call; the platform answers within a second or
// something is wrong.
const CallTimeout = 10 * time.Second

// New makes a Client for the token of one team. apiURL is empty for the platform
// itself, or the address of another Web API, ending in a slash.
func New(token, apiURL string, client *http.Client) *Client {
	if client == nil {
		client = &http.Client{Timeout: CallTimeout}
	}
	options := []slack.Option{slack.OptionHTTPClient(client)}
	if apiURL != "" {
		options = append(options, slack.OptionAPIURL(apiURL))
	}
	return &Client{api: slack.New(token, options...), client: client, apiURL: apiURL}
}

// OpenView opens a form within the trigger's three seconds. It is never
// queued.
func (c *Client) OpenView(ctx context.Context, trigger string, view slack.ModalViewRequest) error {
	_, err := c.api.OpenViewContext(ctx, trigger, view)
	return explain("views.open", err)
}

// PushView puts a form on top of an open one.
func (c *Client) PushView(ctx context.Context, trigger string, view slack.ModalViewRequest) error {
	_, err := c.api.PushViewContext(ctx, trigger, view)
	return explain("views.push", err)
}

// UpdateView replaces an open form.
func (c *Client) UpdateView(ctx context.Context, viewID string, view slack.ModalViewRequest) error {
	_, err := c.api.UpdateViewContext(ctx, view, "", "", viewID)
	return explain("views.update", err)
}

// PublishHome sets somebody's home tab.
func (c *Client) PublishHome(ctx context.Context, to state.UserID, view slack.HomeTabViewRequest) error {
	_, err := c.api.PublishViewContext(ctx, slack.PublishViewContextRequest{UserID: string(to), View: view})
	return explain("views.publish", err)
}
