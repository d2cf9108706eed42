// Package storetest starts the stores that tests run against: the embedded
// one always, and a real redis-server of its own where the program is found on
// PATH. With SOUNDINGS_REQUIRE_REDIS=1 its absence is a failure, so that a
// build that means to test against Redis cannot pass without it.
//
// [Each] is the usual way in; [EachURL] serves tests of programs that connect
// by themselves; [Cluster] and [Sentinel] start servers of those kinds. Every
// store is empty, listens on the loopback interface, writes nothing that
// outlives the test, and is stopped by t.Cleanup.
package storetest
