package resemble

import (
	"errors"
	"fmt"
	"math"
	"math/bits"
	"slices"
	"sync"

	"cribgate/labeler/symbol"
)

// A Digest names a tag: that of its text.
type Digest [32]byte

// ErrForm is a text that is no tag's, or a drawing that no tag has.
var ErrForm = errors.New("resemble: not drawn as a tag is")

// An Index holds the symbols of tags: 136 bytes for each, and some hundred and ninety
// to find and drop it by, so 32 MB for 100,000, which take some ten seconds of one
// processor to put. Find takes some 4 ms of one for as many. It is safe for many goroutines. The zero value is empty.
type Index struct {
	mu      sync.RWMutex
	shelves map[form]*shelf
	forms   map[Digest]form
}

// A shelf holds the tags of one form.
type shelf struct {
	columns [words][]uint64 // each tag's pattern, word by word
	ids     []Digest
	slots   map[Digest]int
	all     *system // numbers and seals are drawn by lot
	seals   *system // seals only
}

// Put keeps a tag as it was printed, in the place of one of the same digest. It fails
// with [ErrForm] where the text is no tag's, or is not drawn so.
func (x *Index) Put(id Digest, text string, version int, level symbol.Level, mask int) error {
	s, err := symbol.Again(text, version, level, mask)
	if err != nil {
		return fmt.Errorf("%w: %w", ErrForm, err)
	}
	f := form{s.Level(), len(s.Text()) - symbol.BodyLen}
	p := patternOf(s)
	x.mu.Lock()
	defer x.mu.Unlock()
	x.drop(id)
	if x.shelves == nil {
		x.shelves, x.forms = map[form]*shelf{}, map[Digest]form{}
	}
	sh := x.shelves[f]
	if sh == nil {
		sh = &shelf{slots: map[Digest]int{}, all: f.sumsOf(number, seal), seals: f.sumsOf(seal)}
		x.shelves[f] = sh
	}
	for i, w := range p {
		sh.columns[i] = append(sh.columns[i], w)
	}
	sh.slots[id] = len(sh.ids)
	sh.ids = append(sh.ids, id)
	x.forms[id] = f
	return nil
}

// Drop forgets a tag.
func (x *Index) Drop(id Digest) {
	x.mu.Lock()
	defer x.mu.Unlock()
	x.drop(id)
}

func (x *Index) drop(id Digest) {
	sh := x.shelves[x.forms[id]]
	slot, ok := 0, false
	if sh != nil {
		slot, ok = sh.slots[id]
	}
	if !ok {
		return
	}
	last := len(sh.ids) - 1
	for i := range sh.columns {
		sh.columns[i][slot] = sh.columns[i][last]
		sh.columns[i] = sh.columns[i][:last]
	}
	sh.ids[slot] = sh.ids[last]
	sh.slots[sh.ids[slot]] = slot
	sh.ids = sh.ids[:last]
	delete(sh.slots, id)
	delete(x.forms, id)
}

// Len is how many tags there are.
func (x *Index) Len() int {
	x.mu.RLock()
	defer x.mu.RUnlock()
	return len(x.forms)
}

// A Match is a tag that a grid resembles.
type Match struct {
	ID           Digest
	Upright      Upright // the grid as the tag lies in it
	Known, Wrong int     // data modules that are seen, and that differ
}

// Find gives the tag that one of the grids of a picture resembles; false where none
// is near enough, or two are.
func (x *Index) Find(grids []Grid) (m Match, ok bool) {
	x.mu.RLock()
	defer x.mu.RUnlock()
	for _, g := range grids[:min(len(grids), MostGrids)] {
		if g.Modules() != symbol.Modules {
			continue
		}
		f := faceOf(g)
		for t := range turn(turns) {
			v := f.view(t)
			for _, sh := range x.shelves {
				for _, slot := range sh.near(&v) {
					if ok && m.ID == sh.ids[slot] || !sh.takes(slot, &v, g, len(x.forms)) {
						continue
					}
					if ok {
						return Match{}, false
					}
					m, ok = sh.match(slot, &v, g), true
				}
			}
		}
	}
	return m, ok
}

// How many words a tag is compared by first, and how many standard deviations fewer
// than half of their modules must differ for the others to be looked at. A tag of
// which a fifth differs passes; of those that are not there, one in some thousand.
const (
	firstWords = 3
	firstFar   = 3.5
)

// near lists the tags worth a closer look, at most a few.
func (s *shelf) near(v *view) (slots []int) {
	at := v.fullest()
	known := 0
	for _, w := range at {
		known += bits.OnesCount64(v.known[w])
	}
	limit := int(float64(known)/2 - firstFar*math.Sqrt(float64(known))/2)
	a, b, c := s.columns[at[0]], s.columns[at[1]], s.columns[at[2]]
	ka, kb, kc := v.known[at[0]], v.known[at[1]], v.known[at[2]]
	da, db, dc := v.dark[at[0]], v.dark[at[1]], v.dark[at[2]]
	b, c = b[:len(a)], c[:len(a)]
	for i := range a {
		if bits.OnesCount64((a[i]^da)&ka)+bits.OnesCount64((b[i]^db)&kb)+bits.OnesCount64((c[i]^dc)&kc) < limit {
			slots = append(slots, i)
		}
	}
	return slots
}

// fullest are the words with the most known modules.
func (v *view) fullest() (at [firstWords]int) {
	var order [words]int
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order[:], func(a, b int) int {
		return bits.OnesCount64(v.known[b]) - bits.OnesCount64(v.known[a])
	})
	return [firstWords]int(order[:firstWords])
}

func (s *shelf) pattern(slot int) (p pattern) {
	for i := range p {
		p[i] = s.columns[i][slot]
	}
	return p
}

// takes tells whether the tag cannot be near by chance, with n tags in all.
func (s *shelf) takes(slot int, v *view, g Grid, n int) bool {
	m := s.match(slot, v, g)
	if 3*m.Wrong > m.Known { // far from what can be taken: spares the sets
		return false
	}
	v.sort(g)
	p := s.pattern(slot)
	const ways = turns * MostGrids
	if !s.all.taken(p, v, float64(n)*ways, Chance/2) || !s.seals.taken(p, v, ways, Chance/2) {
		return false
	}
	sum, added := g.(Sum)
	if !added {
		return true
	}
	newest := sum.Newest()
	if newest.Modules() != symbol.Modules {
		return false
	}
	last := faceOf(newest).view(v.turn)
	last.sort(newest)
	return s.all.taken(p, &last, MostGrids, Stale/2) && s.seals.taken(p, &last, MostGrids, Stale/2)
}

func (s *shelf) match(slot int, v *view, g Grid) Match {
	m := Match{ID: s.ids[slot], Upright: Upright{g, v.turn}}
	for i := range words {
		m.Known += bits.OnesCount64(v.known[i])
		m.Wrong += bits.OnesCount64((s.columns[i][slot] ^ v.dark[i]) & v.known[i])
	}
	return m
}
