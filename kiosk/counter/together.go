package counter

import (
	"cribgate/core/event"
	"cribgate/core/fit"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// A Part is what is said of one sling of a lift. The zero value is a sling at its
// full length that carries an equal part.
type Part struct {
	Shortened gate.Shortening
	Carries   quantity.Mass // under a beam with stated parts: its own
}

// Of is a lift as it is asked of one sling of it. Where it cannot be asked of this
// one, or stands against it, against says why: as [fit.Lift.Of] has it, and
// [gate.LiftIncomplete] where the legs are shortened over picks of which only the span
// was stated, so that nobody knows the angle.
func Of(l event.StatedLift, s gate.Sling, part Part, units quantity.Units) (lift gate.Lift, against gate.Reason) {
	asked := fit.LiftOf(l, event.Crane{}, units)
	if l.Share == event.Beam && l.Stated {
		asked.Load = part.Carries
	}
	asked.Singles = asked.Singles && s.Legs == 1 // of another it is said beside the others
	if lift, against = asked.Of(&s); s.Adjustable {
		lift.Shortened = part.Shortened
		if l.Span > 0 && part.Shortened != gate.Unshortened {
			return lift, gate.LiftIncomplete
		}
	}
	return lift, against
}

// Beside gives what stands against one more sling on a lift beside those that are
// on it already: that it is not like the first, or one too many.
func Beside(l event.StatedLift, s gate.Sling, shortened gate.Shortening, first *Placed, already int) []gate.Reason {
	var codes []gate.Reason
	if l.Share == event.OneHook {
		plate, how := s.Plate, shortened
		if first != nil {
			plate, how = first.Plate, first.Shortened
		}
		if !rating.Alike(&plate, &s.Plate) || how != shortened {
			codes = append(codes, gate.NotAlike)
		}
	}
	if many := l.Many(); many > 0 && already >= many {
		codes = append(codes, gate.TooManyTogether)
	}
	return codes
}

// Placed is a sling that is on a lift already.
type Placed struct {
	Plate     rating.Plate
	Shortened gate.Shortening
}

// short gives what stands against all slings of a shared lift together.
func short(l event.StatedLift, parts []Part) []gate.Reason {
	var codes []gate.Reason
	if len(parts) < l.Many() {
		codes = append(codes, gate.TooFewTogether)
	}
	if l.Share == event.Beam && l.Stated {
		left := l.Lift.Load + l.Beam
		for _, p := range parts {
			left -= min(p.Carries, left)
		}
		if left > 0 && len(codes) == 0 {
			codes = append(codes, gate.SharesShort)
		}
	}
	return codes
}
