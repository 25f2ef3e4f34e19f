// Package counter is what happens at the crib counter, one act at a time:
// register, print, confirm and throw away a tag, issue or refuse, take back, take in a heap, check it,
// hand on, place, recall, hold, release, inspect, say what parts measured when new, retire, compare after a restore. Each act reads, decides and appends in one write transaction,
// so that of two counters that want one sling exactly one gets it and the other
// is told.
//
// [Counter.IssueLoan] hands over everything that one rigger takes at one time, each
// sling decided for itself as by [Counter.Issue]; of slings that share a lift, on one
// hook or under a beam, all go or none.
//
// [Counter.Inspect] with a [Sheet] works out by itself what the criteria say of what was
// measured, from the dimensions of new parts on record, and takes no decision that is
// milder and no due date that is later.
//
// A refusal is a value, never an error: [Outcome.Codes] lists why, in the closed
// lists of core/gate. An error means that the act could not be decided or not be
// written, and nothing was. The zero Outcome refuses.
//
// The acts are the same for a page, a script and the demonstration; what a person
// may do is checked here as well as at the pages.
package counter
