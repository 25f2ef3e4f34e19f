// Package fit finds the slings of a rack that fit a lift.
//
// A [Lift] is what the gate is asked about, and what only choosing asks: picks
// stated by their span, room for the hook, what hangs at the ends, how many slings
// share the load. A [Rack] is made once of the slings that are there. [Rack.Choose]
// judges every one of them for an [Ask] and answers with a [Choice]:
//
//   - Fits: each sling that [gate.Decide] lets go out for the lift, at the angle
//     that its own reach gives, and whose ends are right; best first.
//   - Near: slings against which one thing stands and nothing else, and what it is.
//
// A sling of which nobody has said what else stands against it ([Known]) is neither.
//
// There is no rule of its own here on what a sling may carry. [Ask.Question] is the
// question that the gate is asked about one sling; Choose asks it of every
// distinct kind of metal once and adds what stands against each sling by its tag,
// state and dates ([gate.Standing]), which comes to the same ([gate.Decide] says the
// same of each, and a test holds the two together).
//
// Best is, in this order: least capacity wasted in this lift; fewest legs idle;
// thorough inspection due furthest away; least often issued, so that wear spreads;
// identification. [Offer.Ahead] says which of them put a sling before the next.
// The order is common practice, no source: nothing is decided by it.
//
// Where nothing fits, [Ask.Helps] says what would help, each answer tried by the
// gate before it is given, and [Ask.Smallest] the smallest sling of the tables that
// would do.
//
// What fits is an offer. Whoever hands a sling out decides again with the sling in
// hand: the register may have moved on, and tag, rigger and eyes have their say.
// The choice supports, and never replaces, the competent person, the maker's
// instructions and the local law.
package fit
