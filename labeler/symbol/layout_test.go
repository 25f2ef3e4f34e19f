package symbol_test

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"cribgate/labeler/symbol"
)

// product is that of two codewords in the field of 256 elements of ISO/IEC 18004
// (x⁸ + x⁴ + x³ + x² + 1; from memory, not seen).
func product(a, b byte) byte {
	var p byte
	for ; b > 0; b >>= 1 {
		if b&1 == 1 {
			p ^= a
		}
		high := a&0x80 != 0
		if a <<= 1; high {
			a ^= 0x1d
		}
	}
	return p
}

// syndromes evaluates a block at the first n powers of 2: all are zero where no
// codeword is wrong.
func syndromes(block []byte, n int) []byte {
	out := make([]byte, n)
	root := byte(1)
	for i := range out {
		for _, w := range block {
			out[i] = product(out[i], root) ^ w
		}
		root = product(root, 2)
	}
	return out
}

// bitReader takes bits off codewords, the highest first.
type bitReader struct {
	words []byte
	at    int
}

func (r *bitReader) take(n int) (v int) {
	for range n {
		v = v<<1 | int(r.words[r.at/8]>>(7-r.at%8)&1)
		r.at++
	}
	return v
}

// says reads the segments of a version 5 symbol: mode 4 bits, count 9 bits for
// letters and 10 for figures, two letters in 11 bits, three figures in 10
// (ISO/IEC 18004, from memory, not seen).
func says(words []byte) (string, error) {
	const set = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
	r := &bitReader{words: words}
	var text strings.Builder
	for 8*len(words)-r.at >= 4 {
		switch mode := r.take(4); mode {
		case 0:
			return text.String(), nil
		case 1:
			n := r.take(10)
			for ; n >= 3; n -= 3 {
				fmt.Fprintf(&text, "%03d", r.take(10))
			}
			if n > 0 {
				fmt.Fprintf(&text, "%0*d", n, r.take(3*n+1))
			}
		case 2:
			n := r.take(9)
			for ; n >= 2; n -= 2 {
				v := r.take(11)
				text.WriteByte(set[v/45])
				text.WriteByte(set[v%45])
			}
			if n == 1 {
				text.WriteByte(set[r.take(6)])
			}
		default:
			return "", fmt.Errorf("mode %d", mode)
		}
	}
	return text.String(), nil
}

// A symbol taken apart by the layout is what it says: every block is free of
// errors, and the data words are the text.
func TestTakenApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := texts().Draw(t, "text")
		s, err := symbol.Encode(text)
		if err != nil {
			t.Fatal(err)
		}
		var data []byte
		for i, block := range symbol.Words(s.Dark, s.Level(), s.Mask()) {
			b := s.Level().Blocks()[i]
			for j, v := range syndromes(block, b.Correction) {
				if v != 0 {
					t.Fatalf("block %d of %q: syndrome %d is %d", i, text, j, v)
				}
			}
			data = append(data, block[:b.Data]...)
		}
		got, err := says(data)
		if err != nil || got != text {
			t.Fatalf("the blocks say %q, %v; want %q", got, err, text)
		}
	})
}

// The first data words follow from the text by the alphanumeric encoding alone.
func TestFirstBlockIsTheText(t *testing.T) {
	const set = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
	text := "HTTPS://CRIB.EXAMPLE/" + strings.Repeat("CRIBGATE", 8)
	for _, text := range []string{text[len(text)-64:], text} {
		s, err := symbol.Encode(text)
		if err != nil {
			t.Fatal(err)
		}
		bits := "0010" + fmt.Sprintf("%09b", len(text))
		for i := 0; i+1 < len(text); i += 2 {
			bits += fmt.Sprintf("%011b", 45*strings.IndexByte(set, text[i])+strings.IndexByte(set, text[i+1]))
		}
		n := s.Level().Blocks()[0].Data
		var got string
		for _, w := range symbol.Words(s.Dark, s.Level(), s.Mask())[0][:n] {
			got += fmt.Sprintf("%08b", w)
		}
		if got != bits[:8*n] {
			t.Errorf("%q: first block %s, want %s", text, got, bits[:8*n])
		}
	}
}

// How many modules there are of each part: 3 × 49 finder, 3 × 15 separator, two
// timing lines of 21, 25 alignment, 2 × 15 format, one dark, 8 × 134 data, 7 left
// over: 1369 in all (ISO/IEC 18004, version 5).
func TestPartsCount(t *testing.T) {
	got := map[symbol.Part]int{}
	var bits [symbol.Codewords][8]int
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			got[symbol.PartOf(column, row)]++
			if p, ok := symbol.CodewordOf(column, row); ok {
				bits[p.Word][p.Bit]++
			}
		}
	}
	want := map[symbol.Part]int{
		symbol.Finder: 147, symbol.Separator: 45, symbol.Timing: 42, symbol.Alignment: 25, symbol.Format: 30,
		symbol.DarkMark: 1, symbol.Data: 8 * symbol.Codewords, symbol.Remainder: 7,
	}
	for part, n := range want {
		if got[part] != n {
			t.Errorf("%d modules of %s, want %d", got[part], part, n)
		}
	}
	for w, word := range bits {
		if word != [8]int{1, 1, 1, 1, 1, 1, 1, 1} {
			t.Errorf("codeword %d has its bits %v times", w, word)
		}
	}
	if symbol.PartOf(-1, 0) != symbol.Margin || symbol.PartOf(0, symbol.Modules) != symbol.Margin {
		t.Error("outside the grid is not the margin")
	}
	for p := symbol.Data; p <= symbol.Margin; p++ {
		if p.String() == "" || p.String() == "unknown" {
			t.Errorf("part %d has no name", p)
		}
	}
}

// Each codeword has one place in one block.
func TestBlocksDealOut(t *testing.T) {
	for _, level := range []symbol.Level{symbol.LevelQ, symbol.LevelH} {
		seen := map[[2]int]bool{}
		for w := range symbol.Codewords {
			block, at, ok := level.BlockOf(w)
			b := level.Blocks()[block]
			if !ok || at >= b.Data+b.Correction || seen[[2]int{block, at}] {
				t.Errorf("level %s, codeword %d: block %d at %d, %v", level, w, block, at, ok)
			}
			seen[[2]int{block, at}] = true
		}
	}
	for _, c := range []struct {
		level symbol.Level
		word  int
	}{{symbol.LevelH, -1}, {symbol.LevelH, symbol.Codewords}, {0, 0}, {'L', 5}} {
		if _, _, ok := c.level.BlockOf(c.word); ok {
			t.Errorf("level %s has a codeword %d", c.level, c.word)
		}
	}
}

// The fixed patterns are what they are in every symbol.
func TestFixedParts(t *testing.T) {
	a, err := symbol.Encode(body)
	if err != nil {
		t.Fatal(err)
	}
	b, err := symbol.Encode("HTTPS://H.EXAMPLE/" + strings.Repeat("A2", 32))
	if err != nil {
		t.Fatal(err)
	}
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			dark := a.Dark(column, row)
			switch part := symbol.PartOf(column, row); part {
			case symbol.Finder, symbol.Alignment:
				if dark != b.Dark(column, row) {
					t.Errorf("%s at %d, %d differs between symbols", part, column, row)
				}
			case symbol.Separator:
				if dark || b.Dark(column, row) {
					t.Errorf("separator at %d, %d is dark", column, row)
				}
			case symbol.Timing:
				if dark != ((column+row)%2 == 0) {
					t.Errorf("timing at %d, %d is dark: %v", column, row, dark)
				}
			case symbol.DarkMark:
				if !dark || column != 8 || row != symbol.Modules-8 {
					t.Errorf("dark mark at %d, %d: %v", column, row, dark)
				}
			}
		}
	}
}
