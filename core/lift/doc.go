// Package lift works out how a load hangs from one hook: where the hook comes
// to stand, how far the load tilts, and what each leg of the sling carries.
//
// The load is drawn level, z up: two, three or four picks, one per leg that
// carries, and the centre of gravity. Legs of a sling that is not adjustable are
// all as long as its reach and the load hangs as they let it; an adjustable
// sling is set so that the load hangs level, with the hook at a stated height
// over the centre of gravity. [Hang] answers with a [Hanging]: either a [Fault]
// that ends the matter, or tensions as shares of the load, angles in degrees and
// heights in millimetres.
//
// Two picks are a line the load rolls about until its centre of gravity hangs
// below it. Of four legs one may be slack on a rigid load (EN 818-4 rates four
// legs as three), so every three of the four are looked at and the worst rules.
//
// [Lean], [Rise] and [ReachFor] are the triangle of a leg over picks of which only
// the span is known. [Hanging.Picture] is the load turned as it hangs, to be drawn.
//
// This is the only place in core that decides by floating point. A result
// counts as equal to a limit within [Tolerance] of the limit's size, on the side
// that permits, wherever equality permits; where equality itself refuses it is
// compared as it is. What comes out as not a number is refused.
//
// The geometry supports, and never replaces, the signed lift plan of a qualified
// person: real picks give, real loads bend, and wind and movement are not here.
package lift
