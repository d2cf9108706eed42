// Package page shows a rehearsal in a browser. Whoever opens it acts as anyone
// of the scenario: they read messages and forms as that person sees them, press
// and fill in what is there, let the others act, and move the clock on. What
// they do reaches the bot by the same signed requests that the platform sends.
//
// The package draws and reads forms. What happens is up to a rehearsal.Room and
// the team in it. The page guards nothing and belongs on loopback.
//
// Start from
//
//	New           a page with a rehearsal of its own
//	Page.Handler  the page, and the team's Web API beside it
package page
