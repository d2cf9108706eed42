package chat

import (
	"context"
	"fmt"

	"github.com/slack-go/slack"

	"soundings/bot/screens"
)

// Respond answers a pressed button to the one who pressed it. It costs no
// Web API call.
func (c *Client) Respond(ctx context.Context, responseURL, text string) error {
	err := slack.PostWebhookCustomHTTPContext(ctx, responseURL, c.client, &slack.WebhookMessage{
		Text: text, ResponseType: slack.ResponseTypeEphemeral, ReplaceOriginal: false})
	if err != nil {
		return fmt.Errorf("answer a button: %w", withoutAddress(err))
	}
	return nil
}

// Replace changes the message in which a button was pressed, at the address
// that came with the press. It costs no Web API call.
func (c *Client) Replace(ctx context.Context, responseURL string, m screens.Posting) error {
	err := slack.PostWebhookCustomHTTPContext(ctx, responseURL, c.client, &slack.WebhookMessage{
		Text: m.Text, Blocks: &slack.Blocks{BlockSet: m.Blocks}, ReplaceOriginal: true})
	if err != nil {
		return fmt.Errorf("redraw the message of a button: %w", withoutAddress(err))
	}
	return nil
}
