package resemble

import (
	"cribgate/labeler/symbol"
)

// A pattern is the data modules of a symbol as they are drawn. Module i, in the order
// of the codewords' bits, is bit i / words of word i % words, so that each word has
// modules of the whole symbol.
type pattern [words]uint64

const (
	modules = 8 * symbol.Codewords
	words   = (modules + 63) / 64
)

// places are where the data modules lie, in the order of their bits. They are found
// once and never change.
var places = func() (order [modules]struct{ column, row int }) {
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			if p, ok := symbol.CodewordOf(column, row); ok {
				order[8*p.Word+7-p.Bit] = struct{ column, row int }{column, row}
			}
		}
	}
	return order
}()

func patternOf(s symbol.Symbol) (p pattern) {
	for i, at := range places {
		if s.Dark(at.column, at.row) {
			p[i%words] |= 1 << (i / words)
		}
	}
	return p
}

// Which bits of a tag's forty bytes are drawn by lot (package tagcode): the sling
// number and the seal. from is the first, to the first after them.
var drawn = [...]struct{ from, to int }{{36, 100}, {192, 320}}

const number, seal = 0, 1 // places in drawn

// A sum says which drawn bits a module is the sum of, one bit each.
type sum [4]uint64

func (s sum) isZero() bool { return s[0]|s[1]|s[2]|s[3] == 0 }

// A form is what tags of one level and length of prefix have in common.
type form struct {
	level  symbol.Level
	prefix int // characters
}

// A system is the modules of a form as sums of drawn bits.
type system struct {
	sums  [modules]sum
	pairs int // how many pairs of characters are drawn by lot
}

// sumsOf takes those pairs of characters as drawn by lot that lie wholly in the parts
// of drawn that are named.
func (f form) sumsOf(parts ...int) *system {
	s := &system{}
	blocks := f.level.Blocks()
	data := 0
	for _, b := range blocks {
		data += b.Data
	}
	free := make([]sum, 8*data) // of each bit of data
	bits := 0
	for pair := range (f.prefix + symbol.BodyLen) / 2 {
		first := 2*pair - f.prefix // character of the body
		if !drawnByLot(first, parts) || !drawnByLot(first+1, parts) {
			continue
		}
		s.pairs++
		for i := range symbol.PairBits {
			free[symbol.FirstPair+symbol.PairBits*pair+i][bits/64] |= 1 << (bits % 64)
			bits++
		}
	}
	var dealt [symbol.Blocks][][8]sum // sums of each codeword's bits, the highest first
	for i, b := range blocks {
		words := make([][8]sum, b.Data+b.Correction)
		for w := range b.Data {
			for bit := range 8 {
				drawn := free[8*w+bit]
				if drawn.isZero() {
					continue
				}
				words[w][bit] = drawn
				one := make([]byte, b.Data)
				one[w] = 1 << (7 - bit)
				for j, c := range symbol.Correction(one, b.Correction) {
					for k := range 8 {
						if c>>(7-k)&1 == 1 {
							words[b.Data+j][k].add(drawn)
						}
					}
				}
			}
		}
		dealt[i], free = words, free[8*b.Data:]
	}
	for i := range modules {
		if block, at, ok := f.level.BlockOf(i / 8); ok {
			s.sums[i] = dealt[block][at][i%8]
		}
	}
	return s
}

func (s *sum) add(o sum) {
	for i := range s {
		s[i] ^= o[i]
	}
}

// drawnByLot tells whether all five bits of a character of the body are.
func drawnByLot(character int, parts []int) bool {
	for _, p := range parts {
		if 5*character >= drawn[p].from && 5*character+5 <= drawn[p].to {
			return true
		}
	}
	return false
}
