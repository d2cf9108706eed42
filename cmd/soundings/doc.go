// The program soundings, as a command line: it parses, builds and waits. What
// it parses goes to engine, flows and bot; what it prints comes from them.
//
// [run] is the whole program, with its input and output handed in, so that
// tests call it in-process. There is one file for each command.
//
// The exit code is 0 for good, 1 when something failed, and 2 for wrong usage
// or bad input: then one sentence on standard error names what is wrong, the
// file and line where there is one, and what is allowed. Input is checked
// whole before anything is written, and every file appears whole or not at
// all.
package main
