/*
Package modeltest is a model server for tests: an http.Handler that speaks
the part of the OpenAI-compatible interface that package prompts needs, says
what it is told to say, and keeps what it was asked. There is no model in it.

Start from [New] with one [Answer] for each request, serve it with
httptest.NewServer or on any listener, and look at [Server.Requests]. Answers
cover what real servers do on good days ([Says]) and on bad ones
([Status], [CutOff], [Stalls], [Refuses], [CallsTool]); [Replies] makes one of
a function, for a server that does whatever it reads.
*/
package modeltest
