package chat

import (
	"cmp"
	"context"
	"errors"

	"github.com/slack-go/slack"

	"soundings/flows/state"
)

// A User is somebody's account.
type User struct {
	state.Person
	Absent bool // an app, or closed: it would never answer
	Guest  bool
}

// User asks the platform who somebody is.
func (c *Client) User(ctx context.Context, id state.UserID) (User, error) {
	u, err := c.api.GetUserInfoContext(ctx, string(id))
	if err != nil {
		return User{}, explain("users.info", err)
	}
	return userOf(*u), nil
}

func userOf(u slack.User) User {
	name := cmp.Or(u.Profile.DisplayName, u.RealName, u.Name, u.ID)
	return User{Person: state.Person{ID: state.UserID(u.ID), Name: name, Zone: u.TZ},
		Absent: u.IsBot || u.Deleted, Guest: u.IsRestricted || u.IsUltraRestricted}
}

// usersPage is how many accounts the platform recommends to ask for at once.
const usersPage = 200

// Users lists the accounts of the team, a page after the other, until each has
// seen enough or so many pages were read.
func (c *Client) Users(ctx context.Context, pages int, each func([]User) (enough bool)) error {
	list := c.api.GetUsersPaginated(slack.GetUsersOptionLimit(usersPage), slack.GetUsersOptionIncludeLocale(false))
	for range pages {
		var err error
		if list, err = list.Next(ctx); list.Done(err) {
			return nil
		}
		if err != nil {
			return explain("users.list", err)
		}
		page := make([]User, len(list.Users))
		for i, u := range list.Users {
			page[i] = userOf(u)
		}
		if each(page) {
			return nil
		}
	}
	return nil
}

// Self is the bot's own account. The platform is asked once.
func (c *Client) Self(ctx context.Context) (state.UserID, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.self == "" {
		answer, err := c.api.AuthTestContext(ctx)
		if err != nil {
			return "", explain("auth.test", err)
		}
		c.self = state.UserID(answer.UserID)
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
func (c *Client) ChannelsOf(ctx context.Context, u state.UserID) ([]string, error) {
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

// Members lists up to so many of those who are in a channel, at most 1,000; apps too.
func (c *Client) Members(ctx context.Context, channel string, most int) ([]state.UserID, error) {
	found, _, err := c.api.GetUsersInConversationContext(ctx, &slack.GetUsersInConversationParameters{ChannelID: channel, Limit: most})
	members := make([]state.UserID, len(found))
	for i, u := range found {
		members[i] = state.UserID(u)
	}
	return members, explain("conversations.members", err)
}

// A Channel is what the platform tells of a channel, apart from its messages.
type Channel struct {
	Member  bool // the bot may post there
	Outside bool // people of another company read it, or were invited to
	Canvas  string
	Tabs    []slack.Tab
}

// Inspect asks the platform about a channel. A channel that is closed to the bot
// is one in which it is not.
func (c *Client) Inspect(ctx context.Context, channel string) (Channel, error) {
	info, err := c.api.GetConversationInfoContext(ctx, &slack.GetConversationInfoInput{ChannelID: channel})
	err = explain("conversations.info", err)
	if errors.Is(err, ErrForbidden) {
		return Channel{}, nil
	}
	if err != nil {
		return Channel{}, err
	}
	out := Channel{Member: info.IsMember, Outside: info.IsExtShared || info.IsPendingExtShared}
	if info.Properties != nil {
		out.Canvas, out.Tabs = info.Properties.Canvas.FileId, info.Properties.Tabs
	}
	return out, nil
}
