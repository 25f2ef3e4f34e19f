package scan

import (
	"bytes"
	"math/rand/v2"
	"testing"

	"github.com/makiuchi-d/gozxing/common/reedsolomon"
	"pgregory.net/rapid"
)

// checked draws a block and what its correction words are, by another's encoder.
func checked(t *rapid.T) (words []byte, check int) {
	check = rapid.IntRange(2, 30).Draw(t, "check")
	n := rapid.IntRange(check+1, 153).Draw(t, "words")
	all := make([]int, n)
	for i := range n - check {
		all[i] = rapid.IntRange(0, 255).Draw(t, "word")
	}
	if err := reedsolomon.NewReedSolomonEncoder(reedsolomon.GenericGF_QR_CODE_FIELD_256).Encode(all, check); err != nil {
		t.Fatal(err)
	}
	words = make([]byte, n)
	for i, w := range all {
		words[i] = byte(w)
	}
	return words, check
}

// TestMendsExactlyWithinReach: t places erased and e others wrong are mended when
// 2e + t is within the check words; beyond that what comes out, if anything, checks
// and lies within reach of what went in.
func TestMendsExactlyWithinReach(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		right, check := checked(t)
		n := len(right)
		random := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "places"), 0))
		order := random.Perm(n)
		erased := rapid.IntRange(0, check).Draw(t, "erased")
		wrong := rapid.IntRange(0, min(n-erased, (check-erased)/2+3)).Draw(t, "wrong")
		words := bytes.Clone(right)
		for i, at := range order[:erased+wrong] {
			if i < erased { // may be right by chance
				words[at] = byte(random.Uint32())
			} else {
				words[at] ^= byte(1 + random.IntN(255))
			}
		}
		before := bytes.Clone(words)
		got, ok := mend(words, check, order[:erased])
		if within := 2*wrong+erased <= check; within {
			if !ok || got != wrong || !bytes.Equal(words, right) {
				t.Fatalf("%d of %d words, %d erased, %d wrong: %v, %d found", check, n, erased, wrong, ok, got)
			}
			return
		}
		if !ok {
			if !bytes.Equal(words, before) {
				t.Fatal("not mended, and changed")
			}
			return
		}
		var sums [mostCheck]byte
		if syndromes(words, sums[:check]) {
			t.Fatal("what came out does not check")
		}
		outside := 0
		for i := range words {
			if words[i] != before[i] && !contains(order[:erased], i) {
				outside++
			}
		}
		if outside != got || 2*outside+erased > check {
			t.Fatalf("%d outside changed, %d told, of %d with %d erased", outside, got, check, erased)
		}
	})
}

func contains(all []int, one int) bool {
	for _, v := range all {
		if v == one {
			return true
		}
	}
	return false
}

func FuzzMend(f *testing.F) {
	seeds := [][]byte{{}, {5, 1, 2, 3, 4, 5, 6, 7}, bytes.Repeat([]byte{9}, 60)}
	if len(seeds) != 3 {
		f.Fatal("a seed is missing")
	}
	for _, s := range seeds {
		f.Add(s, uint8(10), []byte{1, 2})
	}
	f.Fuzz(func(t *testing.T, words []byte, check uint8, places []byte) {
		var erased []int
		for _, p := range places {
			if int(p) < len(words) && !contains(erased, int(p)) {
				erased = append(erased, int(p))
			}
		}
		before := bytes.Clone(words)
		_, ok := mend(words, int(check), erased)
		var sums [mostCheck]byte
		if ok && syndromes(words, sums[:check]) {
			t.Error("mended, and does not check")
		}
		if !ok && !bytes.Equal(words, before) {
			t.Error("not mended, and changed")
		}
	})
}
