package chat

import (
	"context"

	"github.com/slack-go/slack"

	"soundings/flows"
)

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

// UpdateView replaces an open form, unless it has changed since hash.
func (c *Client) UpdateView(ctx context.Context, viewID, hash string, view slack.ModalViewRequest) error {
	_, err := c.api.UpdateViewContext(ctx, view, "", hash, viewID)
	return explain("views.update", err)
}

// PublishHome sets somebody's home tab.
func (c *Client) PublishHome(ctx context.Context, to flows.UserID, view slack.HomeTabViewRequest) error {
	_, err := c.api.PublishViewContext(ctx, slack.PublishViewContextRequest{UserID: string(to), View: view})
	return explain("views.publish", err)
}
