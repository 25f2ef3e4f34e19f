package scan

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"github.com/makiuchi-d/gozxing/qrcode/decoder"

	"cribgate/labeler/symbol"
)

// soft is what a module says: below 0 dark, above light, and the farther the surer;
// one module in the middle of its kind says about 100.
type soft = int16

// A writing is how a symbol's text is protected: the level of error correction and
// the mask.
type writing struct {
	level    decoder.ErrorCorrectionLevel
	mask     int
	mirrored bool
	agrees   int // how much the format bits say so
}

// mostWritings is how many of the 64 that there are are tried, and asLikely how many
// hundredths of the best one's agreement one must have (found by trial, no source).
const mostWritings, asLikely = 3, 70

// writings are those that the format bits around the finders agree with most,
// the likeliest first, both copies together, as the symbol lies and in a mirror.
func (s *sampled) writings(all []writing) []writing {
	all = addWritings(addWritings(all[:0], s.at, s.modules, false), s.turnedOver, s.modules, true)
	slices.SortStableFunc(all, func(a, b writing) int { return cmp.Compare(b.agrees, a.agrees) })
	n := 1
	for n < mostWritings && all[n].agrees*100 >= all[0].agrees*asLikely {
		n++
	}
	return all[:n]
}

func addWritings(all []writing, at func(column, row int) soft, n int, mirrored bool) []writing {
	var sums [15]int
	for i := range 15 {
		var x, y int
		switch {
		case i < 6:
			x, y = 8, i
		case i < 8: // row 6 is the timing line
			x, y = 8, i+1
		case i == 8:
			x, y = 7, 8
		default:
			x, y = 14-i, 8
		}
		sums[i] = int(at(x, y))
		if i < 8 {
			sums[i] += int(at(n-1-i, 8))
		} else {
			sums[i] += int(at(8, n-15+i))
		}
	}
	for data := range 32 {
		bits, score := formatBits(data), 0
		for i, s := range sums {
			if bits>>i&1 == 1 {
				score -= s
			} else {
				score += s
			}
		}
		level, _ := decoder.ErrorCorrectionLevel_ForBits(uint(data >> 3)) // all four are levels
		all = append(all, writing{level: level, mask: data & 7, mirrored: mirrored, agrees: score})
	}
	return all
}

// formatBits are the fifteen bits that stand for level and mask (ISO/IEC 18004, BCH
// 15,5, generator 537, mask 5412).
func formatBits(data int) int {
	rest := data
	for range 10 {
		rest = rest<<1 ^ rest>>9*0x537
	}
	return (data<<10 | rest) ^ 0x5412
}

// mostChance is the largest chance, that a block of random words would be
// mended as this one was, at which it is believed. A symbol has several blocks, and
// what they say must be text, so that the chance of a wrong text is far smaller.
const mostChance = 2e-6

// mostWords is how many codewords the largest symbol has.
const mostWords = 3706

// doubts is how likely a module that says so much is wrong, against others: by a
// third for each 20 more (found by trial, no source).
var doubts = func() (all [128]int) {
	for i := range all {
		all[i] = int(120 * math.Exp(-float64(i)/20))
	}
	return all
}()

// A wording gathers a symbol's codewords and mends them. The zero value is ready,
// and used again and again.
type wording struct {
	words, sure [mostWords]byte // as drawn, and how sure each is
	block, seen [256]byte
	places      []int
	order       bySureness
	data        []byte
	mends       int // how many times a block was tried
}

// read reads the text out of a grid. Where a block does not mend as it is, the least
// certain of its words are taken as lost, more and more of them.
func (w *wording) read(p *pattern, how writing, at func(column, row int) soft, erase bool) (text string, ok bool) {
	total := p.version.GetTotalCodewords()
	for i := range total {
		word, doubt := byte(0), 0
		for _, c := range p.cells[8*i : 8*i+8] {
			s := int(at(int(c.column), int(c.row)))
			if dark := s < 0; dark != symbol.Masked(how.mask, int(c.column), int(c.row)) {
				word = word<<1 | 1
			} else {
				word <<= 1
			}
			doubt += doubts[min(max(s, -s), len(doubts)-1)]
		}
		w.words[i], w.sure[i] = word, byte(255-min(doubt, 255))
	}
	blocks := p.version.GetECBlocksForLevel(how.level)
	check := blocks.GetECCodewordsPerBlock()
	count, dataWords := 0, 0
	for _, b := range blocks.GetECBlocks() {
		count += b.GetCount()
		dataWords += b.GetCount() * b.GetDataCodewords()
	}
	w.data = w.data[:0]
	short := blocks.GetECBlocks()[0].GetDataCodewords()
	longFrom := blocks.GetECBlocks()[0].GetCount()
	for b := range count {
		n := short
		if b >= longFrom {
			n++
		}
		w.places = w.places[:0]
		for i := range n {
			at := i*count + b
			if i == short { // the longer blocks, the last ones, have one word more
				at = short*count + b - longFrom
			}
			w.places = append(w.places, at)
		}
		for i := range check {
			w.places = append(w.places, dataWords+i*count+b)
		}
		if !w.mendBlock(check, erase) {
			return "", false
		}
		w.data = append(w.data, w.block[:n]...)
	}
	result, err := decoder.DecodedBitStreamParser_Decode(w.data, p.version, how.level, nil)
	if err != nil {
		return "", false
	}
	return result.GetText(), true
}

// mendBlock mends the block whose words lie at w.places.
func (w *wording) mendBlock(check int, erase bool) bool {
	w.mends++
	n := len(w.places)
	block := w.block[:n]
	for i, at := range w.places {
		block[i] = w.words[at]
		w.seen[i] = w.sure[at]
	}
	if wrong, ok := mend(block, check, nil); ok && chance(n, check, 0, wrong) <= mostChance {
		return true
	}
	if !erase {
		return false
	}
	w.order.reset(w.seen[:n])
	for lost := 2; lost < check; lost += 2 {
		if chance(n, check, lost, 0) > mostChance {
			return false
		}
		for i, at := range w.places {
			block[i] = w.words[at]
		}
		w.mends++
		if wrong, ok := mend(block, check, w.order.places[:lost]); ok && chance(n, check, lost, wrong) <= mostChance {
			return true
		}
	}
	return false
}

// chance is how likely at most a block of n random words is mended with so many
// lost and wrong: the places that the wrong ones may have, times their values, over
// the values of the check words that are left.
func chance(n, check, lost, wrong int) float64 {
	c := math.Pow(256, float64(lost-check))
	for i := range wrong {
		c *= 255 * float64(n-lost-i) / float64(i+1)
	}
	return c
}

// bySureness orders places, the least certain first.
type bySureness struct {
	places []int
	sure   []byte
}

func (b *bySureness) reset(sure []byte) {
	b.places, b.sure = b.places[:0], sure
	for i := range sure {
		b.places = append(b.places, i)
	}
	sort.Sort(b)
}

func (b *bySureness) Len() int           { return len(b.places) }
func (b *bySureness) Less(i, j int) bool { return b.sure[b.places[i]] < b.sure[b.places[j]] }
func (b *bySureness) Swap(i, j int)      { b.places[i], b.places[j] = b.places[j], b.places[i] }
