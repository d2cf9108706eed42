// Package slacktest is what only tests need of the stand-in for the chat
// platform: whom a message would notify, and changes that no program of ours
// makes but an administrator could. It is built on what package fakeslack
// exports, and no program imports it.
//
// Start from Pings.
package slacktest
