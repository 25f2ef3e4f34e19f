// Package allot shares the slings of a rack out to the lifts of a day.
//
// [Propose] asks for each lift which slings fit ([fit.Rack.Fitting]; slings that are
// out, held or due before they would be back do not), and hands them out so that
// most lifts are served, and of all ways to serve so many the one that wastes least
// capacity. Each sling serves one lift of the day. Between ways that waste alike,
// slings whose inspection is due later and that went out less often go first. For a
// lift that gets none it says what nearly fits, which lifts have what would have
// fitted, and what sling would do.
//
// It is exact, and [Shares.Proven] says so, for lifts that take one sling each, and
// for lifts that take several ([Want.Takes]: singles on one hook, slings under a beam)
// unless the search had to be cut short: serving most wants of three slings each is
// as hard as packing sets, for which no quick exact way is known. Where it was cut
// short the best way that was found is given, and Proven is false.
//
// [Solve] is the same without slings and lifts: wants, picks and their costs.
//
// A proposal reserves nothing and decides nothing: whoever hands a sling out decides
// again. It supports, and never replaces, the competent person, the maker's
// instructions and the local law.
package allot
