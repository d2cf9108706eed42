/*
Package prompts is a second pen for the ladder: it drafts wordings for people
to argue with, and never puts words in their mouth. It owns the prompt texts,
the talk with a model server, and the checks that a draft passes before anyone
sees it. It knows nothing of kickoffs, chat or storage: who may ask, who sees
a draft, how often a kickoff may ask and what is counted is left to package
bot; what becomes of a wording, to package flows.

Start from [New], which gives a [Client] for any OpenAI-compatible address;
then [Client.Request], which shows what would be sent, and [Client.Ladder],
which sends it.

# Off, and by hand

Drafting is off unless an address and a model are configured. Then the client
is nil, and a nil client answers everything with [ErrOff], so callers need no
second path. Whatever comes of a model, the hand-made way is always there:
[Questions] that the trade asks for each rung, and [Openings] that a thumb can
pick and complete.

# What is sent

One question is two messages. The first is a prompt text of ours, one of
[Texts], each a file with a note on what it is for, what goes in, and what
comes out. The second is what people wrote: a single JSON object, whose fields
are those of the [Input], between two marker lines. JSON writes angle brackets
as escapes there, so no text can forge a marker. No tool is offered, so there
is none to be called; no secret is in any message. [Client.Request] gives both
messages to the letter, for the lead to see beforehand, and [Client.Host] says
where they would go. They go nowhere else: redirects are not followed.

The shape of the answer is asked for by a JSON schema. A server that does not
know how is asked without, and remembered.

# What comes back

An answer is read as strict JSON and measured by every one of [Checks]. If it
fails, the model hears once which rules it broke; if the second answer fails
as well, there is no draft: [ErrNoDraft]. Four good wordings or none, so that
nobody has to wonder what a missing one said.

The checks look at the surface and understand nothing. The commonest way to
abuse such a draft is to write into a problem statement what shall come back
as one. So a draft may not be a piece of what people wrote, has no figures but
theirs, holds only ordinary characters, leads nowhere, calls nobody, tells
nobody what to do, and keeps to the language and the subject. What is still
wrong with it, a person has to see; that is why only the lead sees it, and why
nothing is posted by itself.

# What can go wrong

A draft takes at most [DefaultTimeout] in all, stops with its context, and
reads at most 1 MB. Errors are few and tell what to do: [ErrOff],
[ErrUnauthorized], [ErrNoModel], [ErrRejected], [*Limited], [ErrUnavailable],
[ErrNoDraft]; [Explain] and [ExplainText] say it to a person. None of them holds the key, what
people wrote, or what the server said. [Usage] counts requests, tokens and their cost, of
failures too.

# Beside the ladder

[Client.Plainer] words one assumption more plainly, [Client.Split] takes a
double-barrelled one apart, and [Client.Gist] sums up in two sentences, without
taking sides, what people wrote unsigned. The same care goes for them, and a
gist quotes nobody and singles nobody out. By hand there are
[PlainerQuestions] and [GistRules].

# Judging a model

[RunSheet] runs the twenty statements of [OwnSheet] through a model and counts
what passes, check by check, so that a lead can judge a model before using it;
[Sheet.Calls] says beforehand how many requests that takes.
Package modeltest beside this one is a server to test against.
*/
package prompts
