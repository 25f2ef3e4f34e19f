package allot

import "slices"

// search tries ways until none can be better, or there were too many.
func (s *solver) search() {
	if s.tries++; s.m.steps > s.limit && s.tries > 1 {
		s.cut = true
		return
	}
	if !s.relax() {
		return
	}
	now := s.value()
	if s.tries == 1 {
		s.floor = (now.unserved + lcm - 1) / lcm
	}
	if s.got != nil && !now.beats(s.best, s.grain) {
		return
	}
	got := s.handed()
	broken := s.broken(got)
	if broken < 0 { // as good as its bound
		s.best, s.got = now, got
		return
	}
	for _, k := range s.ways(broken) {
		s.decided[broken], s.kind[broken] = served, k
		s.search()
	}
	s.decided[broken] = left
	s.search()
	s.decided[broken] = undecided
}

// round finds a way quickly, so that the search has something to beat: of the wants
// that came out in pieces it leaves the half that lacks most; where only kinds are
// mixed it settles half of the wants on the kind that they have most of.
func (s *solver) round() {
	defer clear(s.decided)
	var settled []int
	for {
		if !s.relax() {
			for _, i := range settled {
				s.decided[i] = left
			}
			settled = nil
			continue
		}
		got := s.handed()
		var pieces []int
		for i := range s.wants {
			if s.inPieces(i, got[i]) {
				pieces = append(pieces, i)
			}
		}
		if pieces == nil {
			s.best, s.got = s.value(), got
			return
		}
		missing := func(i int) int { return s.wants[i].Takes - len(got[i]) }
		slices.SortStableFunc(pieces, func(a, b int) int { return missing(b) - missing(a) })
		settled = settled[:0]
		for _, i := range pieces[:(len(pieces)+1)/2] {
			switch {
			case missing(i) > 0:
				s.decided[i] = left
			case missing(pieces[0]) == 0:
				s.decided[i], s.kind[i] = served, s.mostly(i, got[i])
				settled = append(settled, i)
			}
		}
	}
}

// mostly is the kind that most of a want's slings are of, the cheapest of several.
func (s *solver) mostly(i int, slings []int32) (kind int32) {
	most := -1
	for _, k := range s.kinds[i] {
		n := 0
		for _, c := range slings {
			if slices.ContainsFunc(s.byKind[i][k], func(e edge) bool { return e.col == c }) {
				n++
			}
		}
		if n > most {
			kind, most = k, n
		}
	}
	return kind
}

// ways are the kinds that a want may be served of; one that is none where it need
// not be alike.
func (s *solver) ways(i int) []int32 {
	if s.wants[i].Alike {
		return s.kinds[i]
	}
	return []int32{noKind}
}

// relax hands out slings one by one, a want of several counting in parts; false
// where what was decided cannot be.
func (s *solver) relax() bool {
	s.m.reset()
	s.of = s.of[:0]
	for _, must := range []bool{true, false} {
		for i, w := range s.wants {
			if s.decided[i] == left || (s.decided[i] == served) != must {
				continue
			}
			r := row{edges: s.edges[i], drop: s.big / int64(w.Takes)}
			if must {
				r.drop = never
				if s.kind[i] != noKind {
					r.edges = s.byKind[i][s.kind[i]]
				}
			}
			for range w.Takes {
				if !s.m.add(r) {
					return false
				}
				s.of = append(s.of, i)
			}
		}
	}
	return true
}

func (s *solver) value() (v value) {
	for r, i := range s.of {
		if s.m.has[r] == none {
			v.unserved += lcm / int64(s.wants[i].Takes)
		} else {
			v.cost += s.m.cost(r)
		}
	}
	for _, d := range s.decided {
		if d == left {
			v.unserved += lcm
		}
	}
	return v
}

// handed gives the slings of each want.
func (s *solver) handed() [][]int32 {
	got := make([][]int32, len(s.wants))
	for r, i := range s.of {
		if c := s.m.has[r]; c != none {
			got[i] = append(got[i], c)
		}
	}
	for _, list := range got {
		slices.Sort(list)
	}
	return got
}

// broken is the first want that is served in part or of several kinds; -1 for none.
func (s *solver) broken(got [][]int32) int {
	for i := range got {
		if s.inPieces(i, got[i]) {
			return i
		}
	}
	return -1
}

func (s *solver) inPieces(i int, got []int32) bool {
	w := s.wants[i]
	if len(got) == 0 || s.decided[i] == served {
		return false
	}
	return len(got) < w.Takes || w.Takes > 1 && w.Alike && !s.alike(i, got)
}

func (s *solver) alike(i int, slings []int32) bool {
	for _, k := range s.kinds[i] {
		all := true
		for _, c := range slings {
			all = all && slices.ContainsFunc(s.byKind[i][k], func(e edge) bool { return e.col == c })
		}
		if all {
			return true
		}
	}
	return false
}

func (s *solver) shares() Shares {
	x := Shares{Slings: s.got, Proven: !s.cut, Most: !s.cut || s.best.unserved == s.floor*lcm}
	for i, list := range s.got {
		if list == nil {
			continue
		}
		x.Served++
		for _, c := range list {
			at := slices.IndexFunc(s.wants[i].May, func(p Pick) bool { return p.Sling == c })
			x.Cost += s.wants[i].May[at].Cost
		}
	}
	return x
}
