package scan

const (
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
	// heldFrom is how well the timing lines must agree where a lattice holds to its finders,
	// for it to be led (found by trial, no source).
	heldFrom = 0.3
)

// promising tells whether a lattice, as it was found, may become a symbol's.
func (l *lattice) promising() bool {
	return l.agrees >= roughFrom && l.agreementOn(l.pattern.timing) > 0
}

// lay reads a lattice that agrees like a symbol's, and puts one off that agrees less:
// nearly all of those lie over what is no symbol.
func (s *search) lay(l lattice) bool {
	if l.agrees < readFrom || !l.grid.finite() {
		return false
	}
	if l.agrees < hopeFrom || l.agreementOn(l.pattern.timing) < timingFrom {
		put(&s.later, l)
		return false
	}
	s.promising(1)
	return s.readLattice(l)
}

// tryBent reads the one of some lattices through one trio that a plate may show which is
// not flat: the timing lines lie between the finders, wherever the rest of it is.
func (s *search) tryBent(begun []lattice) bool {
	best := -1
	for i := range begun {
		l := &begun[i]
		s.effort -= solveLooks + len(l.pattern.timing)
		if !s.following.hold(l) {
			continue
		}
		if l.agrees = l.agreementOn(l.pattern.timing); best < 0 || l.agrees > begun[best].agrees {
			best = i
		}
	}
	if best < 0 || begun[best].agrees < heldFrom {
		return false
	}
	s.promising(1)
	begun[best].agrees = begun[best].agreement()
	return s.readLed(begun[best])
}

// readLater reads some of those that were put off, where there was nothing better. The
// best is kept, read or not, since it may be a symbol's.
func (s *search) readLater(most int) bool {
	if len(s.laid) > 0 {
		return false
	}
	for _, l := range s.later[:min(len(s.later), most)] {
		if s.readLattice(l) {
			return true
		}
	}
	if len(s.laid) == 0 && len(s.later) > 0 {
		put(&s.laid, s.later[0])
	}
	return false
}

// put puts a lattice among the best ones, the best first.
func put(best *[]lattice, l lattice) { *best = keptBest(*best, l, mostLaid, lattice.worth) }

func (l lattice) worth() float64 { return l.agrees }

// readLattice reads a lattice as it lies, and led along its edges, and keeps it where it
// does not read.
func (s *search) readLattice(l lattice) bool {
	return s.decode(l) || s.readLed(l)
}

// readLed reads a lattice once it was led along its edges, and keeps it, one way or the
// other, where it does not read.
func (s *search) readLed(l lattice) bool {
	if len(l.anchors) > 0 && s.without&noFollow == 0 {
		led := l
		looks, ok := s.following.follow(&led, max(s.effort, followLeast))
		s.effort -= looks
		ok = ok && led.agrees >= readFrom && led.grid.finite()
		if ok && s.decode(led) {
			return true
		}
		if ok && led.agrees > l.agrees {
			l = led
		}
	}
	if l.agrees >= readFrom {
		put(&s.laid, l)
	}
	return false
}

// decode samples a lattice and reads it, as it lies and as a mirror shows it.
func (s *search) decode(l lattice) bool {
	n := l.pattern.modules
	s.sampled.take(&s.levels[s.level(l.size()*l.on.shrink, samplePixels)], &l)
	s.effort -= 9 * n * n
	for _, equal := range [...]bool{false, true} {
		if equal && s.without&noEqual != 0 {
			break
		}
		s.sampled.decide(l.sign)
		if equal {
			s.sampled.equalize(l.pattern)
			s.effort -= equalLooks * n * n
		}
		s.writings = s.sampled.writings(s.writings)
		for _, w := range s.writings {
			at := s.sampled.at
			if w.mirrored {
				at = s.sampled.turnedOver
			}
			s.wording.mends = 0
			text, ok := s.wording.read(l.pattern, w, at, s.without&noErasures == 0)
			s.effort -= mendEffort * s.wording.mends
			if ok {
				s.text, s.read, s.mirrored = text, l, w.mirrored
				return true
			}
		}
	}
	return false
}

const (
	// mendEffort is what it costs to mend a block, in looks at one module, and equalLooks
	// to equalize each module.
	mendEffort, equalLooks = 2000, 8
)

// sighting is what was read.
func (s *search) sighting() Sighting {
	seen := Sighting{text: s.text, modules: s.read.pattern.modules, mirrored: s.mirrored, inverted: s.read.sign < 0,
		picture: s.picture, grid: s.read.inPicture()}
	if s.mirrored {
		seen.grid = seen.grid.after(projection{{0, 1, 0}, {1, 0, 0}, {0, 0, 1}})
	}
	if s.read.sheet.apart > 0 {
		seen.bent = new(s.read.sheet)
		if s.mirrored {
			*seen.bent = s.read.sheet.turnedOver()
		}
	}
	return seen
}

// grids are those that do not read.
func (s *search) grids() []Grid {
	var all []Grid
	for i := range s.laid {
		l := &s.laid[i]
		s.sampled.take(&s.levels[s.level(l.size()*l.on.shrink, samplePixels)], l)
		s.sampled.decide(l.sign)
		if s.without&noEqual == 0 {
			s.sampled.equalize(l.pattern)
		}
		g := s.sampled.grid()
		far := float64(g.modules)
		for i, c := range [...]point{{0, 0}, {far, 0}, {far, far}, {0, far}} {
			g.corners[i] = l.place(c.x, c.y).times(l.on.shrink)
		}
		all = append(all, g)
	}
	return all
}
