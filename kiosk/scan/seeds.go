package scan

import (
	"math/bits"
	"slices"
)

// A seed is where a line through the picture crosses dark and light in the widths
// of a finder's middle, 1 to 1 to 3 to 1 to 1, or several such lines close together.
type seed struct {
	x, y  float64 // pixels of the relief
	width float64 // of all five, in pixels
	lines int
}

const (
	// turns is how far beyond 0 the relief must go to change between dark and light,
	// so that noise about 0 is no line (found by trial, no source).
	turns = 12
	// mostTried is how many places are looked at closely; a picture with one symbol has
	// some ten to fifty, one of noise hundreds.
	mostTried = 160
	// fewLines is how many lines make a place: noise makes one here and there.
	fewLines = 2

	bin    = 8 // pixels, the side of the squares that lines are counted in
	widths = 6 // kinds of widths that are counted apart, each up to twice the one before
)

// A tally counts the lines of finders' widths by where they are and how wide. It is
// used again and again.
type tally struct {
	across, down int
	bins         []lines // by row, column and kind of width
	found        []seed
}

// lines is what a tally counts: how many, and their sums.
type lines struct{ n, x, y, width int32 }

func (t *tally) reset(r *relief) {
	t.across, t.down = r.width/bin+1, r.height/bin+1
	t.bins = grown(t.bins, t.across*t.down*widths)
	clear(t.bins)
	t.found = t.found[:0]
}

func (t *tally) add(x, y, width int) {
	kind := min(max(bits.Len(uint(width))-3, 0), widths-1) // 7 or less, to 15, to 31 …
	b := &t.bins[(y/2/bin*t.across+x/2/bin)*widths+kind]
	b.n++
	b.x += int32(x)
	b.y += int32(y)
	b.width += int32(width)
}

// A sweep goes over a relief line by line, along and across at once, for finders dark
// on light and light on dark. It is used again and again.
type sweep struct {
	dark, light tally
	now         []bool // of each column, whether it is dark here
	columns     []line
}

// over goes over a relief. Of a large one every second line is enough: whatever has
// modules of two pixels crosses several.
func (s *sweep) over(r *relief) {
	s.dark.reset(r)
	s.light.reset(r)
	s.now, s.columns = grown(s.now, r.width), grown(s.columns, r.width)
	clear(s.now)
	clear(s.columns)
	step := 1
	if r.width*r.height > manyPixels {
		step = 2
	}
	for y := range r.height {
		row := r.out[y*r.width:][:r.width]
		if y%step == 0 {
			s.along(row, y)
		}
		now := s.now[:len(row)]
		for x := 0; x < len(row); x += step {
			v := row[x]
			if now[x] {
				if v <= turns {
					continue
				}
			} else if v >= -turns {
				continue
			}
			now[x] = !now[x]
			l := &s.columns[x]
			l.change(y)
			if at, width, ok := l.finder(); ok {
				s.of(now[x]).add(2*x+1, at, width)
			}
		}
	}
}

// manyPixels are those of a picture of which every second line is looked at.
const manyPixels = 600_000

func (s *sweep) along(row []int8, y int) {
	var l line
	dark := false
	for x, v := range row {
		if dark {
			if v <= turns {
				continue
			}
		} else if v >= -turns {
			continue
		}
		dark = !dark
		l.change(x)
		if at, width, ok := l.finder(); ok {
			s.of(dark).add(at, 2*y+1, width)
		}
	}
}

// of is the tally for what ended where a stretch begins that is dark or light.
func (s *sweep) of(begins bool) *tally {
	if begins {
		return &s.light
	}
	return &s.dark
}

// seeds are the places where finders may be, those that most lines agree on first,
// after what is in all.
func (t *tally) seeds(all []seed) []seed {
	for i := range t.bins {
		if t.bins[i].n > 0 {
			if s := t.sum(i); s.lines >= fewLines {
				t.found = append(t.found, s)
			}
		}
	}
	slices.SortStableFunc(t.found, func(a, b seed) int { return b.lines - a.lines })
	return append(all, t.found[:min(len(t.found), mostTried)]...)
}

// sum adds up a bin and those beside it, where it has most of them all.
func (t *tally) sum(i int) seed {
	kind, column, row := i%widths, i/widths%t.across, i/widths/t.across
	own := t.bins[i]
	var all lines
	for y := max(row-1, 0); y <= min(row+1, t.down-1); y++ {
		for x := max(column-1, 0); x <= min(column+1, t.across-1); x++ {
			for k := max(kind-1, 0); k <= min(kind+1, widths-1); k++ {
				j := (y*t.across+x)*widths + k
				b := t.bins[j]
				// Only what is as wide counts.
				if mine, its := own.width*b.n, b.width*own.n; b.n == 0 || its*10 > mine*14 || its*14 < mine*10 {
					continue
				}
				if b.n > own.n || b.n == own.n && j < i {
					return seed{}
				}
				all.n += b.n
				all.x += b.x
				all.y += b.y
				all.width += b.width
			}
		}
	}
	n := float64(all.n)
	return seed{x: float64(all.x) / 2 / n, y: float64(all.y) / 2 / n, width: float64(all.width) / n, lines: int(all.n)}
}

// A line remembers where the last six changes between dark and light were.
type line struct {
	changes [6]int
	n       int
}

func (l *line) change(at int) {
	copy(l.changes[:], l.changes[1:])
	l.changes[5] = at
	l.n++
}

// finder tells whether the last five stretches have a finder's widths, with room for
// blur, and where their middle lies, in
// halves of a pixel.
func (l *line) finder() (middle, width int, ok bool) {
	c := &l.changes
	all := c[5] - c[0]
	if l.n < 6 || all < 7 {
		return 0, 0, false
	}
	// In sevenths of the whole: a narrow one 0.4 to 1.9, the wide one 1.9 to 4.3.
	wide := c[3] - c[2]
	if wide*70 < 19*all || wide*70 > 43*all {
		return 0, 0, false
	}
	narrow := func(w int) bool { return w*70 >= 4*all && w*70 <= 19*all }
	if !narrow(c[1]-c[0]) || !narrow(c[2]-c[1]) || !narrow(c[4]-c[3]) || !narrow(c[5]-c[4]) {
		return 0, 0, false
	}
	return c[2] + c[3], all, true
}
