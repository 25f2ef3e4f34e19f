package symbol

import (
	"errors"
	"fmt"
	"strings"
)

// ErrDrawing is what a text wraps that has no drawing of the version, level and mask
// that are asked for.
var ErrDrawing = errors.New("no such drawing of this text")

// Bits of the only segment that a tag's text is drawn as: the mode, the count of
// characters, and two characters together (ISO/IEC 18004, alphanumeric mode of
// versions 1 to 9, from memory, not seen).
const (
	modeBits, countBits, PairBits = 4, 9, 11
	alphanumericMode              = 2
	// FirstPair is the bit of the data, from 0 and the highest of the first codeword,
	// at which the first two characters begin.
	FirstPair = modeBits + countBits
)

// Again returns the symbol of a text as it was drawn before: by what a register has
// of it, whatever the encoder of today would choose. It asks no encoder, so that an
// update of one never changes what an old tag looks like. It fails with [ErrDrawing]
// for any other version, a level that has no room for the text, or no mask, and for a
// text as [Encode] does.
//
// An encoder may draw a long run of figures as a segment of its own; then the two
// differ all over. Of a tag's text that is one in a hundred thousand; whoever keeps
// what was printed can tell from [Symbol.Dark].
func Again(text string, version int, level Level, mask int) (Symbol, error) {
	s := Symbol{text: text, level: level, mask: mask}
	if err := check(text); err != nil {
		return Symbol{}, err
	}
	room := 0
	for _, b := range level.Blocks() {
		room += 8 * b.Data
	}
	need := FirstPair + PairBits*(len(text)/2) + 6*(len(text)%2)
	if version != Version || mask < 0 || mask > 7 || need > room {
		return Symbol{}, fmt.Errorf("symbol: draw again version %d, level %s, mask %d: %w", version, level, mask, ErrDrawing)
	}
	s.drawFixed()
	s.drawData(segment(text, room/8))
	return s, nil
}

// segment spells a text as data codewords: the segment, the terminator of up to four
// zero bits, zero to the end of the codeword, then 236 and 17 by turns.
func segment(text string, words int) []byte {
	out := make([]byte, words)
	at := 0
	put := func(n, v int) {
		for i := n - 1; i >= 0; i-- {
			out[at/8] |= byte(v>>i&1) << (7 - at%8)
			at++
		}
	}
	put(modeBits, alphanumericMode)
	put(countBits, len(text))
	for i := 0; i < len(text); i += 2 {
		v := strings.IndexByte(alphanumericSet, text[i])
		if i+1 == len(text) {
			put(6, v)
			break
		}
		put(PairBits, 45*v+strings.IndexByte(alphanumericSet, text[i+1]))
	}
	at = min(at+4, 8*words)
	for i, pad := (at+7)/8, byte(236); i < words; i, pad = i+1, 253-pad {
		out[i] = pad
	}
	return out
}

// drawFixed draws what does not hang on the text.
func (s *Symbol) drawFixed() {
	for row := range Modules {
		for column := range Modules {
			switch PartOf(column, row) {
			case Finder:
				// Rings around the middle of each: dark, light, dark.
				x, y := min(column, Modules-1-column)-3, min(row, Modules-1-row)-3
				s.dark[row][column] = max(x, -x, y, -y) != 2
			case Timing:
				s.dark[row][column] = (column+row)%2 == 0
			case Alignment:
				x, y := column-alignmentAt, row-alignmentAt
				s.dark[row][column] = max(x, -x, y, -y) != 1
			case DarkMark:
				s.dark[row][column] = true
			case Remainder:
				s.dark[row][column] = Masked(s.mask, column, row)
			}
		}
	}
	level := map[Level]int{LevelQ: 3, LevelH: 2}[s.level]
	word := formatBits(level<<3 | s.mask)
	for i := range 15 {
		x, y := firstFormatBit(i)
		s.dark[y][x] = word>>i&1 == 1
		x, y = secondFormatBit(i)
		s.dark[y][x] = word>>i&1 == 1
	}
}

// drawData draws data codewords and their correction.
func (s *Symbol) drawData(data []byte) {
	var blocks [Blocks][]byte
	for i, b := range s.level.Blocks() {
		words := data[:b.Data:b.Data]
		blocks[i] = append(words, Correction(words, b.Correction)...)
		data = data[b.Data:]
	}
	var drawn [Codewords]byte
	for word := range drawn {
		if block, at, ok := s.level.BlockOf(word); ok {
			drawn[word] = blocks[block][at]
		}
	}
	for i, at := range dataModules {
		s.dark[at.row][at.column] = drawn[i/8]>>(7-i%8)&1 == 1 != Masked(s.mask, at.column, at.row)
	}
}

// dataModules are where the bits of the codewords are drawn, in their order. They are
// found once and never change.
var dataModules = func() (order [8 * Codewords]struct{ column, row int }) {
	for row := range Modules {
		for column := range Modules {
			if place, ok := CodewordOf(column, row); ok {
				order[8*place.Word+7-place.Bit] = struct{ column, row int }{column, row}
			}
		}
	}
	return order
}()
