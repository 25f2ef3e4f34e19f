package gate

import (
	"errors"
	"math/big"
	"time"

	"cribgate/core/rating"
)

// A second, slow gate: its own reading of the line, its own calendar, masses as
// big.Rat grams. It shares the printed cells and how a load hangs with the
// package, and nothing else; each of these has tests of its own.

var oracleFactors = map[string][4]*big.Rat{ // by class of legs
	"vertical": {1: rat(1, 1)},
	"h60":      {2: rat(17320, 10000), 3: rat(25980, 10000)},
	"h45":      {2: rat(14142, 10000), 3: rat(21213, 10000)},
	"h30":      {2: rat(1, 1), 3: rat(15, 10)},
	"b45":      {2: rat(14, 10), 3: rat(21, 10)},
	"b60":      {2: rat(1, 1), 3: rat(15, 10)},
}

func classOf(legs int) int { return min(legs, 3) }

// printedCell looks a cell up in the package's tables, which have their own test.
func printedCell(s *oracleSling, legs int, basis string) *big.Rat {
	system, _ := rating.ParseSystem(s.System)
	size, err := rating.ParseSize(system, s.Size)
	if err != nil {
		return nil
	}
	b, _ := rating.ParseBasis(basis)
	cell, ok := rating.TableCell(rating.Grade(s.Grade), size, legs, b)
	if !ok {
		return nil
	}
	return rat(int64(cell.Load), 100_000)
}

var errOracle = errors.New("the line contradicts itself")

type oracle struct {
	q       *oracleQuestion
	has     map[string]bool
	single  *big.Rat // table or chart
	leg     *big.Rat
	weakest *big.Rat
	limits  []*big.Rat // loads at which the answer may turn
}

// oracleOrder is the order of reasons; the ones of geometry stand in its middle.
var oracleOrder = []string{"rating-tag", "already-out", "unchecked", "held", "retired", "lost", "never-inspected", "no-due-date",
	"clock-doubt", "overdue", "due-before-return", "no-listed-rating", "no-stamped-rating", "stamp-too-high", "stamps-disagree",
	"heat-scrapped", "special-lift", "legs-mismatch", "hitch-not-allowed", "lift-incomplete", "reach-too-short", "reach-too-long", "legs-unequal", "would-roll",
	"would-tip", "would-tilt", "angle-too-flat", "too-hot", "too-cold", "under-rated"}

func (o *oracle) zero() bool {
	for _, r := range []string{"no-listed-rating", "no-stamped-rating", "stamp-too-high", "stamps-disagree", "heat-scrapped",
		"legs-mismatch", "hitch-not-allowed", "lift-incomplete", "reach-too-short", "legs-unequal", "would-roll", "would-tip",
		"angle-too-flat", "too-hot", "too-cold"} {
		if o.has[r] {
			return true
		}
	}
	return false
}

// addMonths follows the calendar of package time, which overflows into the next month.
func addMonths(date string, n int) string {
	d, _ := time.Parse("2006-01-02", date)
	first := time.Date(d.Year(), d.Month()+time.Month(n), 1, 0, 0, 0, 0, time.UTC)
	day := min(d.Day(), first.AddDate(0, 1, -1).Day())
	return first.AddDate(0, 0, day-1).Format("2006-01-02")
}

func askOracle(q *oracleQuestion) (w wireAnswer, limits []*big.Rat, err error) {
	o := &oracle{q: q, has: map[string]bool{}}
	if o.contradicts() {
		return wireAnswer{ID: &q.ID}, nil, errOracle
	}
	o.stateAndDates()
	o.rate()
	after := o.after()
	w = wireAnswer{ID: &q.ID, Verdict: "issue", Reasons: []string{}}
	if q.Lift == nil {
		w.Capacity = o.capacity(after)
	} else {
		margin := int64(0)
		if q.Lift.Margin != nil {
			margin = *q.Lift.Margin
		}
		required := times(gramsOf(q.Lift.LoadG, q.Lift.LoadLb), rat(100+margin, 100))
		var allowed *big.Rat
		if q.Lift.Picks != nil {
			allowed = o.geometry(&w, after, required)
		} else if allowed = o.allowed(after); !o.zero() && required.Cmp(allowed) > 0 {
			o.has["under-rated"] = true
		}
		if o.zero() {
			allowed = rat(0, 1)
		} else {
			o.limits = append(o.limits, allowed)
		}
		r, a := nearestGram(required), nearestGram(allowed)
		w.Required, w.Allowed = &r, &a
	}
	for _, r := range oracleOrder {
		if o.has[r] {
			w.Reasons, w.Verdict = append(w.Reasons, r), "refuse"
		}
	}
	return w, o.limits, nil
}

func (o *oracle) hitch() string {
	if o.q.Lift.Hitch == nil {
		return "straight"
	}
	return *o.q.Lift.Hitch
}

// mdegFromHorizontal2 is twice the angle from horizontal in thousandths of a degree.
func (a *oracleAngle) mdegFromHorizontal2() int64 {
	return map[string]int64{"horizontal": 2 * a.Mdeg, "vertical": 180_000 - 2*a.Mdeg, "between": 180_000 - a.Mdeg}[a.From]
}

func (o *oracle) contradicts() bool {
	s, l := &o.q.Sling, o.q.Lift
	for _, x := range s.Stamped {
		if x.Legs > s.Legs || (x.Basis == "vertical") != (x.Legs == 1) ||
			x.Basis[0] == 'h' && s.System != "us" || x.Basis[0] == 'b' && s.System != "en" {
			return true
		}
	}
	if l == nil {
		return false
	}
	if l.ReturnBy != nil && *l.ReturnBy < o.q.Now || l.Singles && (s.Legs > 1 || o.hitch() == "basket") || l.Shortened != nil && !s.Adjustable {
		return true
	}
	if l.Picks == nil && (l.CG != nil || l.Hook != nil || l.HookMax != nil) {
		return true
	}
	if l.Picks != nil && (l.Angle != nil || l.CG == nil || s.Reach == nil || len(l.Picks) != l.Legs || l.Legs < 2 || o.hitch() != "straight") {
		return true
	}
	if a := l.Angle; a != nil {
		h := a.mdegFromHorizontal2()
		alone := l.Legs == 1 && o.hitch() != "basket"
		pair := l.Legs == 2 && o.hitch() != "basket" || l.Legs == 1 && o.hitch() == "basket"
		return h <= 0 || h > 180_000 || alone || a.From == "between" && !pair
	}
	return false
}

func (o *oracle) stateAndDates() {
	s, l := &o.q.Sling, o.q.Lift
	if s.RatingTag != "legible" {
		o.has["rating-tag"] = true
	}
	if s.State == "out" {
		o.has["already-out"] = true
	} else if s.State != "in" {
		o.has[s.State] = true
	}
	if s.Inspected == nil {
		o.has["never-inspected"] = true
	}
	if s.Inspected != nil && s.Due == nil {
		o.has["no-due-date"] = true
	}
	if s.Inspected != nil && *s.Inspected > o.q.Now {
		o.has["clock-doubt"] = true
	}
	if s.Due == nil {
		return
	}
	due, months := *s.Due, 12
	if o.q.Policy != nil && o.q.Policy.Months != nil {
		months = int(*o.q.Policy.Months)
	}
	if s.Inspected != nil {
		due = min(due, addMonths(*s.Inspected, months))
	}
	if due < o.q.Now {
		o.has["overdue"] = true
	} else if l != nil && l.ReturnBy != nil && due < *l.ReturnBy {
		o.has["due-before-return"] = true
	}
}

// cellOr is the printed cell, or single × factor.
func (o *oracle) cellOr(legs int, basis string) *big.Rat {
	if c := printedCell(&o.q.Sling, legs, basis); c != nil {
		return c
	}
	return times(o.single, oracleFactors[basis][classOf(legs)])
}

func (o *oracle) rate() {
	s := &o.q.Sling
	if o.single = printedCell(s, 1, "vertical"); o.single == nil {
		o.single = gramsOf(s.ChartG, s.ChartLb)
	}
	if o.single == nil {
		o.has["no-listed-rating"] = true
	}
	if len(s.Stamped) == 0 {
		o.has["no-stamped-rating"] = true
	}
	o.leg = o.single
	var legs []*big.Rat
	for _, x := range s.Stamped {
		load := gramsOf(x.LoadG, x.LoadLb)
		leg := new(big.Rat).Quo(load, oracleFactors[x.Basis][classOf(x.Legs)])
		legs = append(legs, leg)
		if o.single == nil {
			continue
		}
		cell := o.cellOr(x.Legs, x.Basis)
		if load.Cmp(times(cell, rat(1025, 1000))) > 0 {
			o.has["stamp-too-high"] = true
		}
		if load.Cmp(times(cell, rat(95, 100))) < 0 {
			o.leg = lesser(o.leg, leg)
		}
	}
	for _, a := range legs {
		for _, b := range legs {
			if a.Cmp(times(b, rat(107, 100))) > 0 {
				o.has["stamps-disagree"] = true
			}
		}
	}
	if o.weakest = gramsOf(s.WeakestG, s.WeakestLb); o.weakest != nil && o.leg != nil {
		o.leg = lesser(o.leg, o.weakest)
	}
}

// base is the load of so many legs at a basis; tagged where the stamp for just that may stand.
func (o *oracle) base(legs int, basis string, tagged bool) *big.Rat {
	s := &o.q.Sling
	f := oracleFactors[basis][classOf(legs)]
	var stamp *big.Rat
	for _, x := range s.Stamped {
		if tagged && classOf(x.Legs) == classOf(legs) && x.Basis == basis {
			stamp = lesser(stamp, gramsOf(x.LoadG, x.LoadLb))
		}
	}
	base := stamp
	if base == nil {
		base = times(o.leg, f)
	}
	base = lesser(base, printedCell(s, legs, basis))
	if o.weakest != nil {
		base = lesser(base, times(o.weakest, f))
	}
	return base
}

func (o *oracle) allowed(after *big.Rat) *big.Rat {
	l := o.q.Lift
	heat := o.begin(after)
	legs, basket := l.Legs, o.hitch() == "basket"
	if basket {
		if legs++; legs > 3 {
			o.has["hitch-not-allowed"] = true
		}
	}
	basis := "vertical"
	if legs > 1 {
		basis = o.basis()
	}
	share := times(o.choke(), o.edge(), o.short(), heat)
	if l.Legs > 1 && (l.Centred == nil || !*l.Centred) {
		share = times(share, rat(1, 2))
	}
	if o.zero() {
		return nil
	}
	allowed := times(o.base(legs, basis, !basket && !l.Singles), share)
	limit := o.fitting(basis)
	if basket {
		limit = lesser(limit, o.largest())
	}
	if limit != nil {
		allowed = lesser(allowed, times(limit, heat))
	}
	return allowed
}

// begin judges use and number of legs, and gives what heat leaves.
func (o *oracle) begin(after *big.Rat) *big.Rat {
	s, l := &o.q.Sling, o.q.Lift
	if l.Use != nil && *l.Use != "ordinary" {
		o.has["special-lift"] = true
	}
	if l.Legs > s.Legs && !l.Singles {
		o.has["legs-mismatch"] = true
	}
	return lesser(o.hot(), after)
}

func (o *oracle) short() *big.Rat {
	if s := o.q.Lift.Shortened; s != nil && *s == "plain" {
		return rat(80, 100)
	}
	return rat(1, 1)
}

func (o *oracle) fitting(basis string) *big.Rat {
	limit := gramsOf(o.q.Sling.MasterG, o.q.Sling.MasterLb)
	if limit != nil && o.q.Lift.Singles {
		limit = times(limit, oracleFactors[basis][classOf(o.q.Lift.Legs)])
	}
	return limit
}

func (o *oracle) largest() *big.Rat {
	var largest *big.Rat
	for _, x := range o.q.Sling.Stamped {
		if load := gramsOf(x.LoadG, x.LoadLb); largest == nil || load.Cmp(largest) > 0 {
			largest = load
		}
	}
	return largest
}

func (o *oracle) basis() string {
	a := o.q.Lift.Angle
	if a == nil {
		o.has["lift-incomplete"] = true
		return ""
	}
	h, us := a.mdegFromHorizontal2(), o.q.Sling.System == "us"
	switch {
	case h < 60_000:
		o.has["angle-too-flat"] = true
		return ""
	case h < 90_000 && us:
		return "h30"
	case h < 90_000:
		return "b60"
	case us && h < 120_000:
		return "h45"
	case us:
		return "h60"
	}
	return "b45"
}

func (o *oracle) choke() *big.Rat {
	if o.hitch() != "choke" {
		return rat(1, 1)
	}
	c := o.q.Lift.Choke
	strict := o.q.Policy != nil && o.q.Policy.Choke != nil && *o.q.Policy.Choke == "strict"
	switch {
	case c == nil:
		o.has["lift-incomplete"] = true
	case *c < 30_000:
		o.has["hitch-not-allowed"] = true
	case *c < 60_000:
		return rat(40, 100)
	case *c < 90_000:
		return rat(55, 100)
	case *c <= 120_000:
		return rat(65, 100)
	case strict:
		return rat(75, 100)
	default:
		return rat(80, 100)
	}
	return rat(1, 1)
}

func (o *oracle) edge() *big.Rat {
	r := o.q.Lift.Edge
	if r == nil {
		if o.hitch() != "straight" {
			o.has["lift-incomplete"] = true
		}
		return rat(1, 1)
	}
	// Twice the nominal size in mm, by the number printed or its mm column.
	d2 := map[string]int64{"7/32": 11, "9/32": 14, "5/16": 16, "3/8": 20, "1/2": 26, "5/8": 32, "3/4": 40, "7/8": 44, "1": 52, "1-1/4": 64,
		"6": 12, "7": 14, "8": 16, "10": 20, "13": 26, "16": 32, "19": 38, "20": 40, "22": 44, "26": 52, "32": 64}[o.q.Sling.Size]
	r2 := 2 * *r
	edge := rat(1, 1)
	if r2 <= 2*d2 {
		edge = rat(70, 100)
	}
	if r2 <= d2 {
		edge = rat(50, 100)
	}
	if o.hitch() != "basket" {
		return edge
	}
	bend := 2 * r2 / d2 // whole times that the diameter holds the chain, counted in halves of mm
	if bend < 2 {
		o.has["hitch-not-allowed"] = true
		return edge
	}
	return lesser(edge, rat(10*min(bend, 6)+40, 100))
}

func (o *oracle) capacity(after *big.Rat) map[string]int64 {
	s := &o.q.Sling
	choke := rat(80, 100)
	if o.q.Policy != nil && o.q.Policy.Choke != nil && *o.q.Policy.Choke == "strict" {
		choke = rat(75, 100)
	}
	all := map[string]int64{}
	put := func(name, basis string, f *big.Rat) {
		all[name] = 0
		if !o.zero() {
			load := lesser(times(o.base(s.Legs, basis, true), f), gramsOf(s.MasterG, s.MasterLb))
			all[name] = nearestGram(times(load, after))
		}
	}
	switch {
	case s.Legs == 1:
		put("vertical_g", "vertical", rat(1, 1))
		put("choke_g", "vertical", choke)
	case s.System == "us":
		for _, b := range []string{"h60", "h45", "h30"} {
			put(b+"_g", b, rat(1, 1))
		}
	default:
		put("b45_g", "b45", rat(1, 1))
		put("b60_g", "b60", rat(1, 1))
	}
	return all
}
