package strict

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Every byte is found or passed over at each place of a word of eight, whatever
// its neighbours are.
func TestNextSpecial(t *testing.T) {
	for c := range 256 {
		for place := range 20 {
			for _, fill := range []string{"a", "\x7f", "\x80", "\xff", "!", "#", "[", "]", " "} {
				s := strings.Repeat(fill, place) + string([]byte{byte(c)}) + strings.Repeat(fill, 19-place)
				want := len(s)
				if special[c] {
					want = place
				}
				for from := range place + 1 {
					if got := nextSpecial(s, from); got != want {
						t.Fatalf("%q from %d: %d, want %d", s, from, got, want)
					}
				}
			}
		}
	}
}

// It agrees with looking at one byte after the other.
func TestNextSpecialOneByOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := string(rapid.SliceOfN(rapid.SampledFrom([]byte("\x00\x1f !\"#[\\]\x7f\x80\x9f\xa2\xdc\xff")), 0, 40).Draw(t, "text"))
		at := rapid.IntRange(0, len(s)).Draw(t, "from")
		want := at
		for want < len(s) && !special[s[want]] {
			want++
		}
		if got := nextSpecial(s, at); got != want {
			t.Fatalf("%q from %d: %d, want %d", s, at, got, want)
		}
	})
}
