/*
Package prompts drafts texts with a language model, for people to use, change
or discard. It owns the prompt texts, the exchange with a model server, and the
checks that a draft passes before anyone sees it. It knows nothing of kickoffs,
chat or storage: who may ask, who sees a draft, how often a kickoff may ask and
what is counted is left to package bot; what becomes of a text, to package
flows.

Start from [New], which gives a [Client] for any OpenAI-compatible address;
then [Client.Request], which shows what would be sent of an [Input], and
[Client.Draft], which sends it. What the kinds of draft differ in is one table,
in draft.go.

# Off, and by hand

Drafting is off unless an address and a model are configured. Then the client
is nil, and a nil client answers everything with [ErrOff], so callers need no
second path. Whatever comes of a model, the way by hand is there: [Questions]
and [Openings] for the ladder, [PlainerQuestions], [GistRules].

# What is sent

One question is two messages. The first is a prompt text, a file under texts
with a note on what it is for, what goes in, and what comes out. The second is
what people wrote: the JSON of the [Input], between two marker lines. JSON
writes angle brackets as escapes there, so no text can forge a marker. No tool
is offered, and no secret is in any message. Redirects are not followed. The
shape of the answer is asked for by a JSON schema; a server that does not know
how is asked without, and remembered.

# What comes back

An answer is read as strict JSON, and each text in it is held to every [Check].
If it fails, the model hears once which rules it broke; if the second answer
fails as well, there is no draft: [ErrNoDraft].

The checks look at the surface and understand nothing: number and length of
sentences, characters, links, mentions, figures, copies, words in common with
the material, and a short list of words in texts/refused.txt. What is still
wrong with a draft, a person has to see; that is why only whoever asked sees it,
and why nothing is posted by itself.

# What can go wrong

A draft takes at most [DefaultTimeout] in all, stops with its context, and
reads at most 1 MB. The errors are [ErrOff], [ErrUnauthorized], [ErrNoModel],
[ErrRejected], [*Limited], [ErrUnavailable] and [ErrNoDraft]; [Explain] says
them to a person. None of them holds the key, what people wrote, or what the
server said. [Usage] counts requests, tokens and their cost, of failures too.

# Judging a model

[RunSheet] runs the twenty statements of [OwnSheet] through a model and counts
what passes, check by check. Package modeltest is a server to test against.
*/
package prompts
