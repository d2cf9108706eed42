// Package outgoing does what should follow from the entries of kickoffs: it
// queues their effects as jobs ([Queue]), and does the jobs ([Worker]), which
// draws messages, sends or changes them through the Web API, shares files, and
// keeps the canvas, the bookmark and the pin.
//
// A job may be interrupted and repeated at any point, also by two processes at
// once: what was done is marked in the journal and found done. What an effect
// finds out, such as where a message stands, goes back as an intent to package
// kickoffs. Whether the queue tries a failed job again is said by its error;
// see package jobs. Which team a job is for, and with which token, is for
// package teams. Start with [Queue.Follow] and [Worker.Do].
package outgoing
