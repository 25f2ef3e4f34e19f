package removal

import (
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/source"
)

// step is a limit in thousandths of what it is held against. It is crossed by
// more than the limit, never by the limit itself.
type step struct {
	grade    Grade
	perMille int64
	clause   source.Clause
}

// The gravest first. These figures are the defaults of site policy and its ceilings.
var (
	growthSteps  = [...]step{{Out, 1030, source.LengthThreePercent}, {Hold, 1015, source.LengthSteps}, {Note, 1005, source.TapeDoubt}}
	nominalSteps = [...]step{{Hold, 1015, source.PitchNominal}}
	differSteps  = [...]step{{Hold, 1015, source.LegsMatch}, {Note, 1005, source.TapeDoubt}}
)

// pitch is the nominal inside length of a link, in chain sizes (trade dimension
// table after EN 818-2).
const pitch = 3

// NominalRun is the inside length of so many links of a size when new, by the
// nominal pitch. A run without a length of its own is held against it.
func NominalRun(size rating.Size, links int64) quantity.Length {
	return quantity.Length(links) * pitch * size.Nominal()
}

// reference is what a run of the sling is held against, and the limits. Against the
// nominal pitch it is held at most, for links may be made longer: measure and sign a
// reference.
func (s Sling) reference(r Run) (quantity.Length, []step) {
	if r.New == 0 {
		return NominalRun(s.Size, r.Links), nominalSteps[:]
	}
	return r.New, growthSteps[:]
}

// assessRun holds a run against its length when new.
func (a *assessment) assessRun(r Run) {
	reference, steps := a.sling.reference(r)
	for _, s := range steps {
		limit := int64(reference) * s.perMille
		if int64(r.Length)*1000 > limit {
			a.add(Finding{
				Code: Longer, Grade: s.grade, Leg: r.Leg, Clause: s.clause,
				Value: r.Length, Limit: quantity.Length(limit / 1000), Wear: a.seatWear(r),
			})
			return
		}
	}
}

// seatWear is the growth of a run that the wear of its links' seats explains:
// each link grows by twice the loss of diameter at its ends. The loss is the
// mean over the links measured on that leg, by the smaller diameter, rounded
// down; 0 where none was measured.
func (a *assessment) seatWear(r Run) quantity.Length {
	loss, measured := quantity.Length(0), quantity.Length(0)
	for _, l := range a.found.Links {
		if l.Leg == r.Leg {
			loss += max(0, a.sling.Size.Nominal()-min(l.D1, l.D2))
			measured++
		}
	}
	if measured == 0 {
		return 0
	}
	return loss * 2 * quantity.Length(r.Links) / measured
}

// byLink orders two runs by their length per link; of two that are alike the first is
// the longer one.
func byLink(x, y Run) (longer, shorter Run) {
	if int64(y.Length)*x.Links > int64(x.Length)*y.Links {
		return y, x
	}
	return x, y
}

// assessPair compares two runs on different legs link for link.
func (a *assessment) assessPair(x, y Run) {
	if x.Leg == y.Leg {
		return
	}
	longer, shorter := byLink(x, y)
	// Both sides per link of the one times links of the other: below 2^63, as
	// check bounds length and count.
	found := int64(longer.Length) * shorter.Links
	for _, s := range differSteps {
		limit := int64(shorter.Length) * longer.Links * s.perMille
		if found*1000 > limit {
			a.add(Finding{
				Code: LegsDiffer, Grade: s.grade, Leg: longer.Leg, Clause: s.clause,
				Value: longer.Length, Limit: quantity.Length(limit / (shorter.Links * 1000)),
			})
			return
		}
	}
}
