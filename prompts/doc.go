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
in draft.go; the checks are another, in check.go. Drafting is off unless an
address and a model are configured ([ErrOff]). Whatever comes of a model, the
way by hand is there: [Questions] and [Openings] for the ladder,
[PlainerQuestions], [GistRules].

# What is sent

One question is two messages: a prompt text, from a file under texts, and what
people wrote, as the JSON of the [Input] between two marker lines. JSON writes
angle brackets as escapes there, so no text can forge a marker. No tool is
offered, and no secret is in any message. Redirects are not followed. The shape
of the answer is asked for by a JSON schema; a server that does not know how is
asked without, and remembered.

# What comes back

An answer is read as strict JSON, and each text in it is held to every [Check].
If it fails, the model hears once which rules it broke; if the second answer
fails as well, there is no draft. The checks look at the surface and understand
nothing. What is still wrong with a draft, a person has to see; that is why
only whoever asked sees it, and why nothing is posted by itself.

A draft takes at most [DefaultTimeout] in all, stops with its context, and
reads at most 1 MB. [Explain] says the errors to a person. None of them holds
the key, what people wrote, or what the server said. [Usage] counts requests,
tokens and their cost, of failures too.

[RunSheet] runs the twenty statements of [OwnSheet] through a model and counts
what passes, check by check. Package modeltest is a server to test against.
*/
package prompts
