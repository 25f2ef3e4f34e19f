package scan

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"sync"
)

// A search looks for a symbol in one picture after another, in the same memory. It
// goes from what is cheap and likely to what is dear and rare, stops at the first
// text, and ends when its effort is spent.
type search struct {
	without   steps
	effort    int // looks at one module that are left
	more      int // and how many are left once there is reason to think that they pay
	sure      int // marks that gave reason so far
	afresh    int // what looking closely is worth, whatever was spent before
	levels    []relief
	sweep     sweep
	seeds     [mostLevels][2][]seed // dark on light, and light on dark
	patterns  [41]*pattern
	marks     []mark // in pixels of the picture
	linked    bool   // the links are those of the marks as they are
	crowded   bool   // there are more sure marks than any symbol has
	links     []link // that each of the marks sees, those of a mark one after another
	linksFrom []int  // where those of each mark begin, and at last where they end
	trios     []trio
	tried     []trio
	grownFrom []mark
	sampled   sampled
	wording   wording
	following following
	writings  []writing
	laid      []lattice // those that agree best, the best first
	later     []lattice // those that agree too little to be read before all was looked at, the best first
	picture   plane
	enlarged  []byte
	text      string
	read      lattice
	mirrored  bool
}

const (
	// leastEffort is what any picture is worth. Where something is like a finder by
	// surely, or a lattice agrees like a symbol, a still picture is worth fullEffort, and
	// a frame of a live one, when the next one comes in a moment, frameEffort (site
	// policy, no source).
	leastEffort, fullEffort, frameEffort = 1_000_000, 3_200_000, 2_000_000
	surely                               = 0.9
	// mostSure is how many such marks are reason to go on: a symbol has three, and what
	// has many more is something printed.
	mostSure = 3
	// lightShare is by how much less is spent on light symbols on dark: no tag is printed so.
	lightShare = 6
	// begin is how many pixels the first size that is looked at has at most.
	begin = 400_000
	// mostLaid is how many lattices are kept that do not read.
	mostLaid = 4
	// symbolFrom is how well a lattice must agree to say that there is a symbol,
	// readFrom to try to read it, hopeFrom, and timingFrom with the timing lines alone, to
	// do so at once (found by trial, no source: of 500 lattices that read all agreed
	// with the whole by 0.67 and with the timing lines by 0.36, and of those that did not one
	// in ten).
	symbolFrom, readFrom, hopeFrom, timingFrom = 0.5, 0.3, 0.6, 0.3
	// roughFrom is how well a lattice must agree before its places are moved, for that to be
	// worth its while; with the timing lines it must agree at all (found by trial, no
	// source: of 667 that read the least agreed by 0.45 and by 0.09, of 2,800 that did not
	// five in six did not agree so).
	roughFrom = 0.3
	// mostVersions is how many versions a trio is tried with, contrary how little the
	// timing lines may agree before the fourth place is found (found by trial, no source: of
	// 608 lattices that read the least agreed by -0.1).
	mostVersions, contrary = 3, -0.15
	// lateEffort is how much effort there must be in all for each lattice that is read
	// although it agreed less.
	lateEffort = 3_000_000
	// trioFrom is how good three marks together must be to be worth a lattice, bentFrom how
	// like finders to be worth one that is bent, pairFrom the better of two for a third to be
	// searched (found by trial, no source: of 1,144 that read the least was as good as 2.38
	// and as like as 2.52, and of 147 in frames without a symbol nine in ten were not as good
	// as 2.1; of 7 that read bent the least was as like as 2.94, and one that is seen from the
	// side as 2.2).
	trioFrom, bentFrom, pairFrom = 2.2, 2.0, 0.75
)

// searches are kept for the next picture: nothing of one shows in another.
var searches = sync.Pool{New: func() any { return new(search) }}

// find looks for a symbol in a picture.
func find(ctx context.Context, p plane, effort int, without steps) (Sighting, []Grid, error) {
	s := searches.Get().(*search)
	defer searches.Put(s)
	s.without = without
	err := s.run(ctx, p, effort)
	if err != nil && ctx.Err() == nil && max(p.width, p.height) <= small && s.without&noSizes == 0 {
		if s.run(ctx, s.enlarge(p), effort) == nil {
			seen := s.sighting()
			seen.picture, seen.grid = p, p.reduced(seen.grid)
			return seen, nil, nil
		}
		grids := s.grids()
		for i := range grids {
			grids[i].move(p.reduced(projection{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}))
		}
		return Sighting{}, grids, err
	}
	if err == nil {
		return s.sighting(), nil, nil
	}
	return Sighting{}, s.grids(), err
}

func (s *search) run(ctx context.Context, p plane, effort int) error {
	s.reset(p, effort)
	first := 0
	for first < len(s.levels)-1 && s.levels[first].width*s.levels[first].height > begin {
		first++
	}
	var order []int
	for i := first; i >= 0; i-- {
		order = append(order, i)
	}
	for i := first + 1; i < len(s.levels); i++ {
		order = append(order, i)
	}
	if s.without&noSizes != 0 {
		order = order[:1]
	}
	for _, sign := range [...]float64{1, -1} {
		// Where a dark symbol was found that does not read, or what is printed dark on light,
		// there is hardly a light one.
		if sign < 0 && (s.without&noLight != 0 || len(s.laid) > 0 || s.crowded) {
			break
		}
		if sign < 0 {
			s.effort = min(s.effort, effort/lightShare)
		}
		s.marks, s.tried, s.grownFrom, s.linked = s.marks[:0], s.tried[:0], s.grownFrom[:0], false
		s.crowded = false
		for _, i := range order {
			if err := ctx.Err(); err != nil {
				return fmt.Errorf("scan: %w", err)
			}
			if s.look(i, sign) {
				return s.said()
			}
		}
		if s.without&noMissing == 0 && s.missing(sign) {
			return s.said()
		}
		if sign > 0 && s.without&noClose == 0 && !s.crowded && s.lookClosely(order) {
			return s.said()
		}
	}
	if s.readLater(effort / lateEffort) {
		return s.said()
	}
	if len(s.laid) > 0 && s.laid[0].agrees >= symbolFrom {
		return DamagedSymbol
	}
	return NoSymbol
}

// said sorts a symbol without text out.
func (s *search) said() error {
	if s.text == "" {
		return EmptySymbol
	}
	return nil
}

func (s *search) reset(p plane, effort int) {
	s.effort, s.more, s.afresh, s.picture = leastEffort, effort-leastEffort, effort/8, p
	s.laid, s.later, s.sure = s.laid[:0], s.later[:0], 0
	n := 1
	for side := min(p.width, p.height) / 2; side >= least && n < mostLevels; side /= 2 {
		n++
	}
	if cap(s.levels) < n {
		s.levels = append(s.levels[:cap(s.levels)], make([]relief, n-cap(s.levels))...)
	}
	s.levels = s.levels[:n]
	s.levels[0].reset(p)
	for i := 1; i < n; i++ {
		s.levels[i].halve(&s.levels[i-1])
	}
}

// mostLevels is how many sizes are looked at: with six, a finder of 400 pixels is as
// small as one of 12.
const mostLevels = 6

// look looks for marks at one size and reads what they make together.
func (s *search) look(level int, sign float64) bool {
	r := s.raised(level)
	if len(r.out) == 0 {
		return false
	}
	seeds := &s.seeds[level]
	if sign > 0 { // and both kinds for later
		s.sweep.over(r)
		seeds[0], seeds[1] = s.sweep.dark.seeds(seeds[0][:0]), s.sweep.light.seeds(seeds[1][:0])
	}
	kind := 0
	if sign < 0 {
		kind = 1
	}
	fresh := false
	for _, seed := range seeds[kind] {
		if s.seen(seed, r.shrink) {
			continue
		}
		s.effort -= seedEffort
		if s.effort < 0 {
			return false
		}
		m, ok := r.markAt(seed, sign)
		s.effort -= r.counted()
		if ok && s.add(m.scaled(r.shrink)) {
			fresh = true
		}
	}
	return fresh && s.readTrios(sign)
}

// seen tells whether a seed lies in a mark that could hardly be more like a finder.
func (s *search) seen(seed seed, shrink float64) bool {
	at := point{seed.x * shrink, seed.y * shrink}
	for i := range s.marks {
		m := &s.marks[i]
		if across, down := m.along(at); m.likeness >= surely && max(math.Abs(across), math.Abs(down)) < 1 {
			return true
		}
	}
	return false
}

// lookClosely looks for marks at every place, and reads what they make together.
func (s *search) lookClosely(order []int) bool {
	fresh := false
	s.effort = max(s.effort, s.afresh)
	for _, level := range order {
		r := s.raised(level)
		if level < order[0] || len(r.out) == 0 || s.effort < 0 { // in a large picture, nothing worn is that small
			continue
		}
		for _, c := range s.closely(r) {
			m, ok := r.markNear(c.seed)
			s.effort -= nearEffort + r.counted()
			if ok && s.add(m.scaled(r.shrink)) {
				fresh = true
			}
		}
	}
	if fresh && (s.readTrios(1) || s.without&noMissing == 0 && s.missing(1)) {
		return true
	}
	s.effort = max(s.effort, s.afresh)
	return s.grow()
}

// seedEffort is what a seed costs, in looks at one module: most fit nowhere.
const seedEffort = 8 * looksAtMark

// add puts a mark to the others, or in the place of one that is the same and less
// like a finder. It tells whether anything is new.
func (s *search) add(m mark) bool {
	if m.likeness >= surely && s.sure < mostSure {
		s.sure++
		s.promising(1. / 4)
	}
	for i, o := range s.marks {
		if o.same(m) {
			if m.likeness > o.likeness+0.02 {
				s.marks[i], s.linked = m, false
				return true
			}
			return false
		}
	}
	s.marks, s.linked = append(s.marks, m), false
	return true
}

// promising gives a share of the effort that is left.
func (s *search) promising(share float64) {
	give := int(float64(s.more) * share)
	s.effort, s.more = s.effort+give, s.more-give
}

// readTrios reads whatever three marks make together.
func (s *search) readTrios(sign float64) bool {
	s.link(sign)
	s.putTogether()
	for _, t := range s.trios {
		if t.fit < trioFrom || s.effort < 0 {
			break
		}
		if s.try(t, sign) {
			return true
		}
	}
	return false
}

// try lays lattices through a trio, and reads them.
func (s *search) try(t trio, sign float64) bool {
	for _, o := range s.tried {
		if o.like(t) {
			return false
		}
	}
	s.tried = append(s.tried, t)
	size := math.Hypot(t.topRight.middle.x-t.topLeft.middle.x, t.topRight.middle.y-t.topLeft.middle.y) / t.span
	r := s.raised(s.level(size, modulePixels))
	if len(r.out) == 0 {
		return false
	}
	t = t.scaled(1 / r.shrink)
	around := 2
	if s.without&noVersions != 0 {
		around = 0
	}
	// The timing lines lie between the three, wherever the fourth is, so they tell which
	// versions it may be.
	var begun []lattice
	number := int(math.Round((t.span - 10) / 4))
	for v := max(number-around, 1); v <= min(number+around, 40); v++ {
		p := s.pattern(v)
		if p == nil || s.effort < 0 {
			return false
		}
		l := lattice{on: r, sign: sign, anchors: t.anchors(p)}
		l.begin(t, p, s.without&noFourth != 0)
		l.agrees = l.agreementOn(p.timing)
		s.effort -= len(p.timing)
		begun = append(begun, l)
	}
	slices.SortStableFunc(begun, func(a, b lattice) int { return cmp.Compare(b.agrees, a.agrees) })
	var best bestTwo
	for _, l := range begun[:min(len(begun), mostVersions)] {
		if l.agrees < contrary {
			break
		}
		if s.without&noFourth == 0 {
			s.effort -= l.fourth()
		}
		l.agrees = l.agreement()
		best.add(l)
	}
	for _, l := range best.found() {
		if !l.promising() {
			continue
		}
		if s.without&noRefine == 0 {
			s.effort -= l.refine(0.5, 0.06)
		}
		if s.lay(l) {
			return true
		}
	}
	return s.without&noFollow == 0 && t.likeness() >= bentFrom && s.tryBent(begun)
}

const (
	// modulePixels is how many pixels of a relief a module should have for the grid to
	// be laid, and samplePixels for modules to be sampled.
	modulePixels, samplePixels = 2.2, 4
)

// level is the number of the smallest size in which a module of so many pixels of the picture has
// as many pixels as asked for.
func (s *search) level(size, pixels float64) int {
	i := 0
	for i+1 < len(s.levels) && size/s.levels[i+1].shrink >= pixels {
		i++
	}
	return i
}

// raised is a level of which the relief is made.
func (s *search) raised(level int) *relief {
	var coarser *relief
	if level+1 < len(s.levels) {
		coarser = &s.levels[level+1]
	}
	r := &s.levels[level]
	r.raise(coarser)
	return r
}

func (s *search) pattern(version int) *pattern {
	if s.patterns[version] == nil {
		p, err := patternOf(version)
		if err != nil {
			return nil
		}
		s.patterns[version] = p
	}
	return s.patterns[version]
}
