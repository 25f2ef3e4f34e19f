package scan

import (
	"math/bits"
	"slices"
)

const (
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

// lines is what a tally counts: how many, and their sums; and of those that go down, how
// many and how wide.
type lines struct{ n, x, y, width, down, tall int32 }

func (t *tally) reset(r *relief) {
	t.across, t.down = r.width/bin+1, r.height/bin+1
	t.bins = grown(t.bins, t.across*t.down*widths)
	clear(t.bins)
	t.found = t.found[:0]
}

func (t *tally) add(x, y, width int, down bool) {
	kind := min(max(bits.Len(uint(width))-3, 0), widths-1) // 7 or less, to 15, to 31 …
	b := &t.bins[(y/2/bin*t.across+x/2/bin)*widths+kind]
	b.n++
	b.x += int32(x)
	b.y += int32(y)
	b.width += int32(width)
	if down {
		b.down++
		b.tall += int32(width)
	}
}

// seeds are the places where finders may be, those that most lines agree on first,
// after what is in all.
func (t *tally) seeds(all []seed) []seed {
	for i := range t.bins {
		if t.bins[i].n > 0 {
			if s := t.sum(i); s.lines >= fewLines {
				t.found = append(t.found, t.shaped(s, i))
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
	wide := float64(all.width) / n
	return seed{x: float64(all.x) / 2 / n, y: float64(all.y) / 2 / n, width: wide, tall: wide, lines: int(all.n)}
}

// shaped tells how wide and how tall the finder of a seed is that a bin gave, by the kind
// of width that most lines have there in either direction: one that is seen from the side
// is wider one way.
func (t *tally) shaped(s seed, i int) seed {
	column, row := i/widths%t.across, i/widths/t.across
	var across, down [widths]lines
	for y := max(row-1, 0); y <= min(row+1, t.down-1); y++ {
		for x := max(column-1, 0); x <= min(column+1, t.across-1); x++ {
			for k := range widths {
				b := &t.bins[(y*t.across+x)*widths+k]
				down[k].n += b.down
				down[k].width += b.tall
				across[k].n += b.n - b.down
				across[k].width += b.width - b.tall
			}
		}
	}
	wide, okWide := usual(&across)
	tall, okTall := usual(&down)
	if okWide && okTall && wide < mostAside*tall && tall < mostAside*wide {
		s.width, s.tall = wide, tall
	}
	return s
}

// mostAside is how many times wider than tall, or the other way, a finder is taken to be
// (found by trial, no source).
const mostAside = 2.6

// usual is the mean width of the kind that most lines have, false where that is fewer than
// two.
func usual(kinds *[widths]lines) (width float64, ok bool) {
	most := &kinds[0]
	for i := range kinds {
		if kinds[i].n > most.n {
			most = &kinds[i]
		}
	}
	return float64(most.width) / float64(max(most.n, 1)), most.n >= fewLines
}
