package rating

// A TagDoubt is what a record holds against the load that a tag takes from it. A
// tag has room for one stamp; the record may know better. The zero TagDoubt is
// none.
type TagDoubt uint8

// The doubts, the weightier last.
const (
	TagSure      TagDoubt = iota
	LoadHigh              // something that is not on the tag bears less
	PlateInDoubt          // stamps that are not believed, or disagree: the plate rates nothing
)

// TagDoubt holds the load of [Plate.TagFacts] against all that the plate says, so
// that it is not printed for people to rig by where [Rating.Load] would give less:
// a lower load stamped for the same legs and basis, the weakest component × factor
// (less than that by more than the tables' own rounding, as for a stamp and its
// cell), or the upper fitting.
func (p *Plate) TagDoubt() TagDoubt {
	if r := Rate(p); r.Faults&(StampTooHigh|StampsDisagree) != 0 {
		return PlateInDoubt
	}
	tag := FromTag(p.TagFacts())
	if len(tag.Stamped) == 0 {
		return TagSure
	}
	on := tag.Stamped[0]
	if least, ok := p.StampFor(on.Legs, on.Basis); ok && on.Load > least.Load {
		return LoadHigh
	}
	factor, ok := Factor(on.Legs, on.Basis)
	if p.Weakest > 0 && (!ok || on.Load.Exact().More(p.Weakest.Times(factor).Times(stampHigh))) {
		return LoadHigh
	}
	if p.Master > 0 && on.Load > p.Master {
		return LoadHigh
	}
	return TagSure
}
