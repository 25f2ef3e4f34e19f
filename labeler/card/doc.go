// Package card draws two cards to carry beside a sling or to lay a chain on,
// both true to size.
//
// A pocket card ([Record.Pocket]) says what one sling may carry, by hitch, by
// the legs that are used and by angle: two sides of A6. Every figure on it is
// an answer of package gate to that lift, rounded down to a whole pound or
// kilogram; nothing is worked out here. What the gate would refuse stands there
// as "not allowed" with the reason. A sling that the gate would not let out, but
// for being out already, gets no card ([RefusedError]).
//
// A go/no-go card ([Gauge]) is for a chain size: slots to cut out, as wide as
// the least thickness of a link, and a lane to lay a run of links along, with a
// bar at each limit of growth. The limits are those that package removal finds a
// chain against: it is asked, not copied. The card can only fail a chain. What
// does not fail on it has not passed: caliper and inspector decide that.
//
// Neither card bears a QR symbol: a second copy of a sling's tag would be a
// sling that is not there. Both say that they support, and never replace, the
// competent person, the maker's instructions and the local law.
package card
