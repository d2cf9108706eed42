// Package jobs keeps timers and outgoing work: what is to be done, when, and
// again if need be.
//
// A [Job] has an id. A queue ignores a job whose id it knows: while a job with
// that id waits or runs, and for [Policy.Retention] after it succeeded.
// A [Handler] does the work. Its error says how to go on: a plain error is a
// failure and is tried again after a growing pause, [Retry] asks for another
// time without counting as a failure, [Drop] ends the job.
//
// There are two queues, and both pass the tests in suite_test.go:
//
//   - [Asynq] keeps its jobs in Redis. Any number of processes may share it,
//     and what one of them leaves undone the others take over.
//   - [Virtual] keeps them in memory under a clock that jumps from job to
//     job, so that a rehearsal of weeks takes seconds and is the same every
//     time.
//
// A job runs at its time or later, never earlier. It may run twice: when a
// process dies, when it misses its deadline, when Redis forgets. Handlers
// must be safe to repeat and must obey their context.
//
// Left to others: what a job does and what is in its payload (bot), and the
// memory of what was done that outlasts the queue's (bot/journal). Nothing
// here logs a payload.
package jobs
