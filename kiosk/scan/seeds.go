package scan

// A seed is where a line through the picture crosses dark and light in the widths
// of a finder's middle, 1 to 1 to 3 to 1 to 1, or several such lines close together.
type seed struct {
	x, y  float64 // pixels of the relief
	width float64 // of all five, in pixels, on lines across
	tall  float64 // and on lines down
	lines int
}

// turns is how far beyond 0 the relief must go to change between dark and light, so
// that noise about 0 is no line (found by trial, no source).
const turns = 12

// A sweep goes over a relief line by line, along and across at once, for finders dark
// on light and light on dark. It is used again and again.
type sweep struct {
	dark, light tally
	now         []bool // of each column, whether it is dark here
	columns     []line
}

// over goes over a relief. Of a large one every third line is enough: whatever has
// modules of two pixels crosses several.
func (s *sweep) over(r *relief) {
	s.dark.reset(r)
	s.light.reset(r)
	s.now, s.columns = grown(s.now, r.width), grown(s.columns, r.width)
	clear(s.now)
	clear(s.columns)
	step := 1
	if r.width*r.height > manyPixels {
		step = 3
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
				s.of(now[x]).add(2*x+1, at, width, true)
			}
		}
	}
}

// manyPixels are those of a picture of which every third line is looked at.
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
			s.of(dark).add(at, 2*y+1, width, false)
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
