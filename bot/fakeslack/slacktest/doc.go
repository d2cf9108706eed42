// Package slacktest is what several test packages need of the stand-in for the
// chat platform: whom a message would notify, and what a browser does at the
// page that lets an app in. No program imports it.
//
// Start from Pings.
package slacktest
