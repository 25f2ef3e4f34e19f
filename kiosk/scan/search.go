package scan

import (
	"context"
	"fmt"
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
	crowded   bool   // there are more sure marks than three tags have, see crowd
	links     []link // that each of the marks sees, those of a mark one after another
	linksFrom []int  // where those of each mark begin, and at last where they end
	trios     []trio
	pairsKept []pair
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
	// lightShare is by how much less is spent on light symbols on dark: no tag is printed so.
	lightShare = 6
	// begin is how many pixels the first size that is looked at has at most.
	begin = 400_000
	// lateEffort is how much effort there must be in all for each lattice that is read
	// although it agreed less.
	lateEffort = 3_000_000
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

// promising gives a share of the effort that is left.
func (s *search) promising(share float64) {
	give := int(float64(s.more) * share)
	s.effort, s.more = s.effort+give, s.more-give
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
