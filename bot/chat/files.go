package chat

import (
	"bytes"
	"context"
	"slices"

	"github.com/slack-go/slack"

	"soundings/bot/report"
	"soundings/flows"
)

// Upload hands the platform a file, which stands nowhere until it is shared.
func (c *Client) Upload(ctx context.Context, f report.File) (id string, err error) {
	place, err := c.api.GetUploadURLExternalContext(ctx, slack.GetUploadURLExternalParameters{
		FileName: f.Name, FileSize: len(f.Data), AltTxt: f.Alt})
	if err != nil {
		return "", explain("files.getUploadURLExternal", err)
	}
	err = c.api.UploadToURL(ctx, slack.UploadToURLParameters{UploadURL: place.UploadURL, Filename: f.Name, Reader: bytes.NewReader(f.Data)})
	return place.FileID, explain("files.upload", err)
}

// An Uploaded file is known to the platform by its id.
type Uploaded = slack.FileSummary

// Share puts uploaded files into the thread of a message, all in one message.
func (c *Client) Share(ctx context.Context, at flows.Posting, files []Uploaded) error {
	_, err := c.api.CompleteUploadExternalContext(ctx, slack.CompleteUploadExternalParameters{
		Files: files, Channel: at.Channel, ThreadTimestamp: at.TS})
	return explain("files.completeUploadExternal", err)
}

// Shared looks for a file in the thread of a message.
func (c *Client) Shared(ctx context.Context, at flows.Posting, name string) (bool, error) {
	messages, err := c.latest(ctx, at.Channel, at.TS)
	return slices.ContainsFunc(messages, func(m slack.Message) bool {
		return slices.ContainsFunc(m.Files, func(f slack.File) bool { return f.Name == name })
	}), err
}
