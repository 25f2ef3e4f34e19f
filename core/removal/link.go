package removal

import (
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/source"
)

// minimum is the least diameter at any point of a link.
type minimum struct {
	nominal quantity.Length
	least   quantity.Length
	clause  source.Clause
}

// The B30.9 table of minimum link thickness, by the nominal size in its mm
// column. 6 and 19 mm have no row there: for them the least whole micrometre
// that is not below √0.75 × d, which leaves three quarters of the section, as
// the rows do.
var minimums = [...]minimum{
	{5_500, 4_800, source.LinkMinimumMemory},   // 7/32
	{6_000, 5_197, source.SectionLoss},         // √0.75 × 6 mm = 5196.15 µm
	{7_000, 6_070, source.LinkMinimumB309},     // 9/32
	{8_000, 6_930, source.LinkMinimumMemory},   // 5/16
	{10_000, 8_690, source.LinkMinimumB309},    // 3/8
	{13_000, 11_260, source.LinkMinimumB309},   // 1/2
	{16_000, 13_870, source.LinkMinimumB309},   // 5/8
	{19_000, 16_455, source.SectionLoss},       // √0.75 × 19 mm = 16454.48 µm
	{20_000, 17_450, source.LinkMinimumMemory}, // 3/4
	{22_000, 19_050, source.LinkMinimumB309},   // 7/8
	{26_000, 22_530, source.LinkMinimumB309},   // 1
	{32_000, 27_710, source.LinkMinimumB309},   // 1-1/4
}

// meanTenths is EN 818-6: the mean of two diameters at right angles is at least
// nine tenths of the nominal size.
const meanTenths = 9

// thickness is one test of a link's thickness.
type thickness struct {
	kind         Kind
	fails        bool
	value, limit quantity.Length
	clause       source.Clause
}

// leastTest holds the smaller diameter against B30.9. A size without a row,
// which check does not let through, fails.
func leastTest(size rating.Size, l Link) thickness {
	for _, m := range minimums {
		if m.nominal == size.Nominal() {
			d := min(l.D1, l.D2)
			return thickness{LeastDiameter, d < m.least, d, m.least, m.clause}
		}
	}
	return thickness{kind: LeastDiameter, fails: true, clause: source.LinkMinimumB309}
}

// meanTest holds the mean of the diameters against EN 818-6; the mean is printed rounded down.
func meanTest(size rating.Size, l Link) thickness {
	limit := size.Nominal() * meanTenths / 10 // whole: every size is a multiple of 500 µm
	return thickness{MeanDiameter, l.D1+l.D2 < 2*limit, (l.D1 + l.D2) / 2, limit, source.LinkMeanEN}
}

// tests are those of the sling's own system and of the other one.
func (s Sling) tests(l Link) (own, other thickness) {
	own, other = leastTest(s.Size, l), meanTest(s.Size, l)
	if s.Size.System() == rating.EN {
		own, other = other, own
	}
	return own, other
}

// assessLink: the test of the sling's own system takes it out, the other one holds it.
func (a *assessment) assessLink(l Link) {
	own, other := a.sling.tests(l)
	f := Finding{Leg: l.Leg, At: l.At}
	switch {
	case own.fails:
		f.Code, f.Grade, f.Value, f.Limit, f.Clause = LinkWorn, Out, own.value, own.limit, own.clause
	case other.fails:
		f.Code, f.Grade, f.Value, f.Limit, f.Clause = LinkThin, Hold, other.value, other.limit, other.clause
	default:
		return
	}
	a.add(f)
}
