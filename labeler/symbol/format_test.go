package symbol

import (
	"errors"
	"testing"
)

const sample = "CDEFGHIJKLMNOPQRSTUVWXYZ234567ABCDEFGHIJKLMNOPQRSTUVWXYZ234567AB"

// The format words of ISO/IEC 18004: BCH 15,5 with generator 537, mask 5412,
// recomputed; level bits L 01, M 00, Q 11, H 10.
func TestFormatBits(t *testing.T) {
	for _, c := range []struct {
		level int
		words [8]int
	}{
		{0b11, [8]int{0x355F, 0x3068, 0x3F31, 0x3A06, 0x24B4, 0x2183, 0x2EDA, 0x2BED}},
		{0b10, [8]int{0x1689, 0x13BE, 0x1CE7, 0x19D0, 0x0762, 0x0255, 0x0D0C, 0x083B}},
	} {
		for mask, want := range c.words {
			if got := formatBits(c.level<<3 | mask); got != want {
				t.Errorf("formatBits(level %02b, mask %d) = %04X, want %04X", c.level, mask, got, want)
			}
		}
	}
	if got := formatBits(0b01 << 3); got != 0x77C4 {
		t.Errorf("formatBits(L, mask 0) = %04X, want 77C4", got)
	}
	if got := formatBits(0); got != 0x5412 {
		t.Errorf("formatBits(M, mask 0) = %04X, want 5412", got)
	}
}

func TestReadFormat(t *testing.T) {
	for _, level := range []struct {
		bits int
		want Level
	}{{0b11, LevelQ}, {0b10, LevelH}, {0b01, 'L'}, {0b00, 'M'}} {
		for mask := range 8 {
			var s Symbol
			word := formatBits(level.bits<<3 | mask)
			for i := range 15 {
				x, y := firstFormatBit(i)
				s.dark[y][x] = word>>i&1 == 1
				x, y = secondFormatBit(i)
				s.dark[y][x] = word>>i&1 == 1
			}
			gotLevel, gotMask, err := s.readFormat()
			if err != nil || gotLevel != level.want || gotMask != mask {
				t.Errorf("level %s mask %d read as %s, %d, %v", level.want, mask, gotLevel, gotMask, err)
			}
			x, y := firstFormatBit(3)
			s.dark[y][x] = !s.dark[y][x]
			if _, _, err := s.readFormat(); !errors.Is(err, errGrid) {
				t.Errorf("one copy damaged: error %v", err)
			}
			x, y = secondFormatBit(3)
			s.dark[y][x] = !s.dark[y][x]
			if _, _, err := s.readFormat(); !errors.Is(err, errGrid) {
				t.Errorf("both copies damaged alike: error %v", err)
			}
		}
	}
}

func TestTakeRefusesAnotherGrid(t *testing.T) {
	s, err := Encode(sample)
	if err != nil {
		t.Fatal(err)
	}
	rows := make([][]bool, Modules)
	for y := range rows {
		rows[y] = append([]bool(nil), s.dark[y][:]...)
	}
	again := Symbol{level: LevelH}
	if err := again.take(rows); err != nil || again.dark != s.dark || again.mask != s.mask {
		t.Errorf("the same grid was refused or read otherwise: %v", err)
	}
	wrong := Symbol{level: LevelQ}
	for name, err := range map[string]error{
		"level":   wrong.take(rows),
		"rows":    again.take(rows[1:]),
		"columns": again.take(append(rows[:Modules-1:Modules-1], rows[0][1:])),
	} {
		if !errors.Is(err, errGrid) {
			t.Errorf("another grid by its %s: error %v", name, err)
		}
	}
}

// The outlines fill to the grid by the even-odd rule as well as by the
// non-zero rule, and each is closed, straight along a side and turns at each
// corner.
func TestContours(t *testing.T) {
	for _, text := range []string{sample, "HTTPS://H.EXAMPLE/" + sample} {
		s, err := Encode(text)
		if err != nil {
			t.Fatal(err)
		}
		var winding [Modules][Modules]int
		for _, outline := range s.Contours() {
			if len(outline) < 4 || len(outline)%2 != 0 {
				t.Fatalf("outline of %d corners", len(outline))
			}
			for i, a := range outline {
				b := outline[(i+1)%len(outline)]
				if (a.X == b.X) == (a.Y == b.Y) {
					t.Fatalf("side from %v to %v is slanted or empty", a, b)
				}
				c := outline[(i+2)%len(outline)]
				if (a.X == b.X) == (b.X == c.X) {
					t.Fatalf("no turn at %v", b)
				}
				// A side going up adds one to all cells on its right.
				for y := min(a.Y, b.Y); y < max(a.Y, b.Y); y++ {
					for x := a.X; x < Modules; x++ {
						if b.Y < a.Y {
							winding[y][x]++
						} else {
							winding[y][x]--
						}
					}
				}
			}
		}
		for y := range Modules {
			for x := range Modules {
				want := 0
				if s.Dark(x, y) {
					want = 1
				}
				if winding[y][x] != want {
					t.Errorf("winding number at %d,%d is %d, want %d", x, y, winding[y][x], want)
				}
			}
		}
	}
}
