// Package teams knows which teams are served, and with which token each of
// them is. [Teams.Get] gives the team of a request with its [chat.Client], or
// [ErrUninstalled].
//
// Where tokens come from is behind [Tokens]: [Single] serves one team with one
// token, [Installed] those that installed the app by themselves. A team that
// takes the app away is marked in the journal, where every process sees it:
// nothing is sent there any more, and after a grace nothing is left of it
// here. Put back before that, everything goes on where it was.
//
// What the kickoffs of a team are about is not known here: they are taken up
// again through [Kickoffs]. Start with [New].
package teams
