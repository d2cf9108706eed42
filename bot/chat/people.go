package chat

import (
	"context"

	"github.com/slack-go/slack"

	"soundings/flows"
)

// Person asks the platform who somebody is. isBot is true for apps.
func (c *Client) Person(ctx context.Context, u flows.UserID) (p flows.Person, isBot bool, err error) {
	user, err := c.api.GetUserInfoContext(ctx, string(u))
	if err != nil {
		return flows.Person{}, false, explain("users.info", err)
	}
	name := user.Profile.DisplayName
	for _, n := range []string{user.RealName, user.Name, string(u)} {
		if name == "" {
			name = n
		}
	}
	return flows.Person{ID: u, Name: name, Zone: user.TZ}, user.IsBot || user.Deleted, nil
}

// Guest reports whether somebody has a guest's account.
func (c *Client) Guest(ctx context.Context, u flows.UserID) (bool, error) {
	user, err := c.api.GetUserInfoContext(ctx, string(u))
	if err != nil {
		return false, explain("users.info", err)
	}
	return user.IsRestricted || user.IsUltraRestricted, nil
}

// Self is the bot's own account. The platform is asked once.
func (c *Client) Self(ctx context.Context) (flows.UserID, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.self == "" {
		answer, err := c.api.AuthTestContext(ctx)
		if err != nil {
			return "", explain("auth.test", err)
		}
		c.self = flows.UserID(answer.UserID)
	}
	return c.self, nil
}

// Team is the team whose token this is, as the platform says at this moment.
func (c *Client) Team(ctx context.Context) (string, error) {
	answer, err := c.api.AuthTestContext(ctx)
	if err != nil {
		return "", explain("auth.test", err)
	}
	return answer.TeamID, nil
}

// ChannelsOf lists the channels in which somebody is, private ones only where
// the bot is as well. Archived ones are left out.
func (c *Client) ChannelsOf(ctx context.Context, u flows.UserID) ([]string, error) {
	var ids []string
	ask := slack.GetConversationsForUserParameters{UserID: string(u), Limit: 900, ExcludeArchived: true,
		Types: []string{"public_channel", "private_channel"}}
	for {
		channels, next, err := c.api.GetConversationsForUserContext(ctx, &ask)
		if err != nil {
			return nil, explain("users.conversations", err)
		}
		for _, channel := range channels {
			ids = append(ids, channel.ID)
		}
		if next == "" {
			return ids, nil
		}
		ask.Cursor = next
	}
}
