package incoming

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"

	"github.com/slack-go/slack"
	"github.com/slack-go/slack/socketmode"
)

// A Socket receives over Socket Mode what the platform sends: no public
// address is needed. Payloads arrive as over HTTP, and go the same way.
type Socket struct {
	receiver *Receiver
	client   *socketmode.Client
	up       atomic.Bool
}

// NewSocket makes a Socket for an app-level token. apiURL is empty for the
// platform itself.
func (v *Receiver) NewSocket(botToken, appToken, apiURL string) *Socket {
	options := []slack.Option{slack.OptionAppLevelToken(appToken)}
	if apiURL != "" {
		options = append(options, slack.OptionAPIURL(apiURL))
	}
	return &Socket{receiver: v, client: socketmode.New(slack.New(botToken, options...))}
}

// Up reports whether the socket is connected.
func (s *Socket) Up() bool { return s.up.Load() }

// maxInHand bounds how many payloads are worked on at once. The reader
// must never wait for one: while it does, no acknowledgement goes out.
const maxInHand = 32

// Run serves until ctx ends, or until the platform says for good that the
// tokens are not valid. Payloads in hand are finished first.
func (s *Socket) Run(ctx context.Context) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	var inHand sync.WaitGroup
	defer inHand.Wait()
	places := make(chan struct{}, maxInHand)
	ended := make(chan error, 1)
	go func() { ended <- s.client.RunContext(ctx) }()
	for {
		select {
		case err := <-ended:
			s.up.Store(false)
			if ctx.Err() != nil {
				return nil
			}
			return fmt.Errorf("keep the socket open: %w", err)
		case event := <-s.client.Events:
			if !s.lifecycle(ctx, event) || event.Request == nil {
				continue
			}
			places <- struct{}{}
			inHand.Go(func() {
				defer func() { <-places }()
				s.handle(context.WithoutCancel(ctx), event) // in hand is in hand: inTime limits it
			})
		}
	}
}

// lifecycle notes how the connection fares; true means that the event
// carries something to do.
func (s *Socket) lifecycle(ctx context.Context, e socketmode.Event) bool {
	switch e.Type {
	case socketmode.EventTypeHello, socketmode.EventTypeConnected:
		s.up.Store(true)
		return false
	case socketmode.EventTypeConnecting, socketmode.EventTypeDisconnect:
		s.up.Store(false)
		return false
	case socketmode.EventTypeConnectionError:
		s.up.Store(false)
		if ctx.Err() == nil { // a socket that is being stopped says so too
			s.receiver.Logger.Warn("the socket cannot connect; it tries again")
		}
		return false
	case socketmode.EventTypeErrorBadMessage:
		s.badMessage(e)
		return false
	}
	return true
}

// badMessage acknowledges what the client library could not read; else the
// platform would send it again and again.
func (s *Socket) badMessage(e socketmode.Event) {
	bad, ok := e.Data.(*socketmode.ErrorBadMessage)
	if !ok {
		return
	}
	var envelope struct {
		ID string `json:"envelope_id"`
	}
	if json.Unmarshal(bad.Message, &envelope) == nil && envelope.ID != "" {
		s.ack(context.Background(), envelope.ID, nil)
	}
	s.receiver.Logger.Warn("a payload could not be read and was passed over")
}

// handle does one payload, and acknowledges it only when it was done: what
// failed comes again, or shows the person an error.
func (s *Socket) handle(ctx context.Context, e socketmode.Event) {
	answer, err := s.receiver.inTime(ctx, func(ctx context.Context) (any, error) { return s.dispatch(ctx, e) })
	if err != nil && !errors.Is(err, errUnreadable) {
		s.receiver.Logger.Error("payload failed", "type", e.Request.Type, "attempt", e.Request.RetryAttempt, "error", err)
		return
	}
	if err != nil {
		s.receiver.Logger.Warn("payload cannot be read", "type", e.Request.Type, "error", err)
	}
	if !e.Request.AcceptsResponsePayload {
		answer = nil
	}
	ctx, cancel := context.WithTimeout(ctx, answerTime)
	defer cancel()
	s.ack(ctx, e.Request.EnvelopeID, answer)
}

func (s *Socket) ack(ctx context.Context, envelope string, answer any) {
	if err := s.client.AckCtx(ctx, envelope, answer); err != nil {
		s.receiver.Logger.Warn("a payload was not acknowledged and will come again", "error", err)
	}
}

func (s *Socket) dispatch(ctx context.Context, e socketmode.Event) (any, error) {
	switch e.Type {
	case socketmode.EventTypeInteractive:
		return s.receiver.interact(ctx, e.Request.Payload)
	case socketmode.EventTypeSlashCommand:
		command, ok := e.Data.(slack.SlashCommand)
		if !ok {
			return nil, fmt.Errorf("%w: a command without its data", errUnreadable)
		}
		return s.receiver.SlashCommand(ctx, command)
	case socketmode.EventTypeEventsAPI:
		return nil, s.receiver.Event(ctx, e.Request.Payload)
	}
	return nil, nil
}
