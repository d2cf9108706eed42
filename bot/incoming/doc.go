// Package incoming takes what the platform sends: it holds HTTP requests to
// their signature ([Receiver.Handler]), or keeps a [Socket] open, and turns
// buttons, forms, commands and events into intents of flows. A request is
// acknowledged only when what it asked for is durable; see package kickoffs.
// It also draws what somebody sees at once: forms, the home tab, and answers
// to them alone.
//
// It decides nothing, and what follows from an intent is done by package
// outgoing, later. Start with [Receiver.Interact] and [Receiver.Event].
package incoming
