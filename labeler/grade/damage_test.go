package grade_test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"cribgate/labeler/grade"
	"cribgate/labeler/symbol"
)

var (
	rounds   = flag.Int("rounds", 1, "how many times over the random tests run")
	seedFlag = flag.Uint64("seed", 0, "seed of the random tests; 0 draws one")
)

// chance draws a seed, and says how to run the test again.
func chance(t testing.TB) *rand.Rand {
	t.Helper()
	seed := *seedFlag
	if seed == 0 {
		seed = rand.Uint64()
	}
	t.Logf("again with: go test ./labeler/grade -run %s -seed %d", t.Name(), seed)
	return rand.New(rand.NewPCG(seed, 0))
}

// A spot is a module of the symbol.
type spot struct{ column, row int }

// codewords lists the modules of each codeword of a block.
func codewords(level symbol.Level, block int) [][]spot {
	words := map[int][]spot{}
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			if p, ok := symbol.CodewordOf(column, row); ok {
				if b, _, _ := level.BlockOf(p.Word); b == block {
					words[p.Word] = append(words[p.Word], spot{column, row})
				}
			}
		}
	}
	var all [][]spot
	for w := range symbol.Codewords {
		if words[w] != nil {
			all = append(all, words[w])
		}
	}
	return all
}

// spoil turns over modules of k codewords of a block: any of each, at least one.
func spoil(s *scene, random *rand.Rand, level symbol.Level, block, k int) {
	words := codewords(level, block)
	random.Shuffle(len(words), func(i, j int) { words[i], words[j] = words[j], words[i] })
	for _, word := range words[:k] {
		random.Shuffle(len(word), func(i, j int) { word[i], word[j] = word[j], word[i] })
		for _, m := range word[:1+random.IntN(len(word))] {
			s.flip(m.column, m.row)
		}
	}
}

// Exactly k codewords of one block wrong leave 1 − 2k/d of its correction. The most
// that each letter forgives: level H (22 correction words) A 4, B 5, C 6, D 8; level
// Q (18) A 3, B 4, C 5, D 6 (ISO/IEC 15415 limits through a verifier manual; the
// counts computed from them).
func TestUnusedCorrection(t *testing.T) {
	random := chance(t)
	for _, c := range []struct {
		text    string
		correct int
		letters string // by the number of wrong codewords, from 0
	}{
		{bare, 22, "AAAAABCDDFFF"},
		{prefixed, 18, "AAAABCDFFF"},
	} {
		want := encode(t, c.text)
		for k, letter := range c.letters {
			for block := range symbol.Blocks {
				if *rounds == 1 && (k+block)%2 == 1 {
					continue // each block with every other number; all with more rounds
				}
				s := sceneOf(want)
				spoil(s, random, want.Level(), block, k)
				r := camera{}.judge(t, s, want)
				l := line(t, r, grade.UnusedCorrection)
				if left := 1 - 2*float64(k)/float64(c.correct); math.Abs(l.Value-left) > 1e-9 || l.Grade.String() != string(letter) {
					t.Errorf("level %s, %d wrong in block %d: %s %.3f, want %c %.3f", want.Level(), k, block, l.Grade, l.Value, letter, left)
				}
				// Modules that are wrong have no modulation, so it forgives as much.
				if m := line(t, r, grade.Modulation); m.Grade != l.Grade || r.Overall() != l.Grade {
					t.Errorf("level %s, %d wrong in block %d: modulation %s, overall %s, want both %s", want.Level(), k, block, m.Grade, r.Overall(), l.Grade)
				}
				if r.Confirms() != (l.Grade >= grade.C) {
					t.Errorf("grade %s confirms: %v", l.Grade, r.Confirms())
				}
			}
		}
	}
}

// The worst block counts, not the sum: spread damage hurts less.
func TestWorstBlockCounts(t *testing.T) {
	random := chance(t)
	want := encode(t, bare)
	s := sceneOf(want)
	for block, k := range [symbol.Blocks]int{3, 5, 4, 2} {
		spoil(s, random, want.Level(), block, k)
	}
	l := line(t, camera{}.judge(t, s, want), grade.UnusedCorrection)
	if l.Grade != grade.B || math.Abs(l.Value-(1-10./22)) > 1e-9 {
		t.Errorf("3, 5, 4 and 2 wrong: %s %.3f, want B %.3f", l.Grade, l.Value, 1-10./22)
	}
}

// More damage never leaves more.
func TestMoreDamageNeverHelps(t *testing.T) {
	random := chance(t)
	for range 3 * *rounds {
		want := encode(t, [2]string{bare, prefixed}[random.IntN(2)])
		s := sceneOf(want)
		flipped := map[spot]bool{}
		before, graded := 1.0, grade.A
		for range 6 {
			for range 4 {
				m := spot{9 + random.IntN(19), 9 + random.IntN(19)}
				if !flipped[m] && symbol.PartOf(m.column, m.row) == symbol.Data {
					flipped[m] = true
					s.flip(m.column, m.row)
				}
			}
			picture := camera{pixels: 6}.shoot(t, s)
			r, read := reported(picture, want)
			if !read {
				break
			}
			l := line(t, r, grade.UnusedCorrection)
			if l.Value > before || r.Overall() > graded {
				t.Fatalf("%d modules wrong: %.3f and %s, with fewer %.3f and %s", len(flipped), l.Value, r.Overall(), before, graded)
			}
			before, graded = l.Value, r.Overall()
		}
	}
}

// Limits of the fixed patterns (ISO/IEC 18004, annex on quality, from memory, not
// seen): finder 0, 1, 2, 3 wrong modules; of the 21 modules of a timing line 1 is
// 4.8 %, 2 are 9.5 %, 3 are 14.3 %; alignment none; format bits 0, 1, 2, 3.
func TestFixedPatterns(t *testing.T) {
	far := symbol.Modules - 1
	for _, c := range []struct {
		name      string
		parameter grade.Parameter
		spots     []spot
		letters   string
	}{
		{"top left finder", grade.FixedPattern, []spot{{1, 0}, {5, 0}, {0, 1}, {0, 5}, {6, 1}}, "ABCDFF"},
		{"top right finder", grade.FixedPattern, []spot{{far - 1, 0}, {far - 5, 0}, {far, 5}, {far - 7, 7}}, "ABCDF"},
		{"bottom left finder", grade.FixedPattern, []spot{{1, far}, {5, far}, {0, far - 5}, {8, far - 7}}, "ABCDF"},
		{"timing row", grade.FixedPattern, []spot{{10, 6}, {17, 6}, {24, 6}}, "ABCF"},
		{"timing column", grade.FixedPattern, []spot{{6, 10}, {6, 17}, {6, 24}}, "ABCF"},
		{"alignment mark", grade.FixedPattern, []spot{{28, 28}}, "AF"},
		{"format bits", grade.FormatBits, []spot{{8, 0}, {8, 1}, {8, 2}, {8, 3}}, "ABCDF"},
		{"format bits, other copy", grade.FormatBits, []spot{{far, 8}, {far - 1, 8}, {far - 2, 8}, {8, far}}, "ABCDF"},
	} {
		want := encode(t, bare)
		s := sceneOf(want)
		for k, letter := range c.letters {
			if k > 0 {
				s.flip(c.spots[k-1].column, c.spots[k-1].row)
			}
			r := camera{}.judge(t, s, want)
			l := line(t, r, c.parameter)
			if l.Grade.String() != string(letter) || l.Value != float64(k) || r.Overall() != l.Grade {
				t.Errorf("%s, %d wrong: %s %v, overall %s, want %c", c.name, k, l.Grade, l.Value, r.Overall(), letter)
			}
		}
	}
	// Each segment by itself: one wrong in each of five is not five.
	want := encode(t, bare)
	s := sceneOf(want)
	for _, m := range []spot{{1, 0}, {far - 1, 0}, {1, far}, {10, 6}, {6, 10}} {
		s.flip(m.column, m.row)
	}
	if l := line(t, camera{}.judge(t, s, want), grade.FixedPattern); l.Grade != grade.B || l.Value != 5 {
		t.Errorf("one wrong in each of five segments: %s %v", l.Grade, l.Value)
	}
}

// Modulation 2 × |R − GT| / SC on both sides of each limit, for more codewords than
// the error correction of the better grade forgives: nine of a block, so that only
// the limit below them saves it.
func TestModulation(t *testing.T) {
	for _, c := range []struct {
		modulation float64
		letter     string
	}{
		{1, "A"}, {0.52, "A"}, {0.48, "B"}, {0.42, "B"}, {0.38, "C"}, {0.32, "C"}, {0.28, "D"}, {0.22, "D"}, {0.18, "F"},
	} {
		for _, dark := range []bool{true, false} {
			t.Run(fmt.Sprintf("%.2f dark %v", c.modulation, dark), func(t *testing.T) {
				want := encode(t, bare)
				s := sceneOf(want)
				left := 9
				for _, word := range codewords(want.Level(), 1) {
					for _, m := range word {
						if left > 0 && want.Dark(m.column, m.row) == dark {
							light := 0.5 + c.modulation/2
							if dark {
								light = 0.5 - c.modulation/2
							}
							s.set(m.column, m.row, light)
							left--
							break
						}
					}
				}
				r := camera{}.judge(t, s, want)
				l := line(t, r, grade.Modulation)
				if l.Grade.String() != c.letter || math.Abs(l.Value-c.modulation) > 0.015 {
					say(t, r)
					t.Errorf("%s %.3f, want %s", l.Grade, l.Value, c.letter)
				}
				if u := line(t, r, grade.UnusedCorrection); u.Value != 1 {
					t.Errorf("a weak module counts as wrong: %.3f", u.Value)
				}
			})
		}
	}
	// Few weak codewords are forgiven as the error correction forgives them: four
	// of 22 leave an A (1 − 8/22 = 0.64), five a B.
	for k, letter := range map[int]string{4: "A", 5: "B"} {
		want := encode(t, bare)
		s := sceneOf(want)
		for _, word := range codewords(want.Level(), 2)[:k] {
			for _, m := range word {
				if want.Dark(m.column, m.row) {
					s.set(m.column, m.row, 0.45)
					break
				}
			}
		}
		if l := line(t, camera{}.judge(t, s, want), grade.Modulation); l.Grade.String() != letter {
			t.Errorf("%d weak codewords: %s, want %s", k, l.Grade, letter)
		}
	}
}

// One dark module in the margin is enough, on every side; beyond the four modules
// none matters.
func TestClearMargin(t *testing.T) {
	far := symbol.Modules
	for _, c := range []struct {
		spots  []spot
		letter string
	}{
		{nil, "A"},
		{[]spot{{-1, 12}}, "F"}, {[]spot{{-4, 12}}, "F"}, {[]spot{{far, 20}}, "F"}, {[]spot{{far + 3, 20}}, "F"},
		{[]spot{{20, -4}}, "F"}, {[]spot{{20, far + 3}}, "F"}, {[]spot{{-4, -4}}, "F"},
		{[]spot{{-5, 12}, {far + 4, 20}, {20, -5}, {20, far + 4}}, "A"},
	} {
		want := encode(t, bare)
		s := sceneOf(want)
		for _, m := range c.spots {
			s.set(m.column, m.row, 0)
		}
		r := camera{}.judge(t, s, want)
		l := line(t, r, grade.QuietZone)
		if l.Grade.String() != c.letter || r.Overall().String() != c.letter {
			t.Errorf("dark at %v: %s, overall %s, want %s", c.spots, l.Grade, r.Overall(), c.letter)
		}
	}
}
