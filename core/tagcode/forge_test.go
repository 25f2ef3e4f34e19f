package tagcode_test

import (
	"bytes"
	"errors"
	"flag"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"testing"
	"time"

	"cribgate/core/tagcode"
	"cribgate/core/tagcode/tagcodetest"
)

var (
	rounds = flag.Int("rounds", 1, "rounds of 200,000 forgeries; 50 are ten million")
	seed   = flag.Uint64("seed", 0, "seed of the forgeries; 0 takes the clock")
)

// mark is a key made of one byte.
func mark(t testing.TB, b byte) tagcode.Key {
	t.Helper()
	k, err := tagcode.NewKey(bytes.NewReader(bytes.Repeat([]byte{b}, 32)))
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// truth is what is genuine.
type truth struct {
	key     tagcode.Key
	texts   []string
	digests map[[32]byte]bool
	tags    map[tagcode.Tag]bool
	heads   map[tagcode.Head]bool
}

func newTruth(t *testing.T, chance *rand.Rand) truth {
	t.Helper()
	g := truth{key: mark(t, 1), digests: map[[32]byte]bool{}, tags: map[tagcode.Tag]bool{}, heads: map[tagcode.Head]bool{}}
	codes, err := tagcodetest.Codes(chance, g.key, 64)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range codes {
		g.texts = append(g.texts, c.Text)
		g.digests[tagcode.Digest(c.Text)] = true
		if kind, formed, taken := g.reads(c.Text); kind != c.Kind || !formed || taken != (c.Kind != tagcode.KindHead) {
			t.Fatalf("a genuine %s reads as a %s: formed %v, taken %v", c.Kind, kind, formed, taken)
		}
		switch c.Kind {
		case tagcode.KindTag:
			s, err := tagcode.Parse(c.Text)
			if err != nil {
				t.Fatal(err)
			}
			g.tags[s.Tag] = true
		case tagcode.KindHead:
			h, err := tagcode.ParseHead(c.Text)
			if err != nil {
				t.Fatal(err)
			}
			g.heads[h] = true
		}
	}
	return g
}

// reads tells as what a text reads, and whether anybody takes its seal.
func (g truth) reads(text string) (kind tagcode.Kind, formed, taken bool) {
	tag, errTag := tagcode.Parse(text)
	badge, errBadge := tagcode.ParseBadge(text)
	slip, errSlip := tagcode.ParseSlip(text)
	_, errHead := tagcode.ParseHead(text)
	switch {
	case errTag == nil:
		return tagcode.KindTag, true, tag.Verify(g.key) == nil
	case errBadge == nil:
		return tagcode.KindBadge, true, badge.Verify(g.key) == nil
	case errSlip == nil:
		return tagcode.KindSlip, true, slip.Verify(g.key) == nil
	case errHead == nil:
		return tagcode.KindHead, true, false
	}
	return tagcode.NoKind, false, false
}

// held counts what became of the forgeries of one way: how many there were, and
// how many had a good form, so that only the seal told.
type held struct{ made, formed int }

// Of texts made out of genuine ones, by a cheat, a scanner or chance, none is
// taken: not by its seal, not by the digest that a register keeps of each tag,
// and no head is that of the register. Only a prefix, which carries no fact,
// may be changed; a register does not know that text by its digest either.
func TestForgeries(t *testing.T) {
	first := *seed
	if first == 0 {
		first = uint64(time.Now().UnixNano())
	}
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("again: go test ./core/tagcode -run '^TestForgeries$' -seed %d -rounds %d", first, *rounds)
		}
	})
	g := newTruth(t, rand.New(rand.NewPCG(first, 0)))
	other := mark(t, 2)
	var all sync.WaitGroup
	var lock sync.Mutex
	sums := map[string]held{}
	cores := runtime.GOMAXPROCS(0)
	jobs := make(chan int, *rounds)
	for round := range *rounds {
		jobs <- round
	}
	close(jobs)
	for range cores {
		all.Go(func() {
			for round := range jobs {
				f, err := tagcodetest.New(rand.New(rand.NewPCG(first, uint64(round)+1)), g.texts, other)
				if err != nil {
					t.Error(err)
					return
				}
				sum := g.hold(t, f, 200_000)
				lock.Lock()
				for way, n := range sum {
					before := sums[way]
					sums[way] = held{before.made + n.made, before.formed + n.formed}
				}
				lock.Unlock()
			}
		})
	}
	all.Wait()
	shapeless := []string{"case", "padding", "blanks"}
	rarely := []string{"another alphabet", "cut or drawn out"} // of a good form
	for _, way := range tagcodetest.Ways() {
		n := sums[way]
		if n.made == 0 || (n.formed == 0) != slices.Contains(shapeless, way) && !slices.Contains(rarely, way) {
			t.Errorf("%s: %d made, of which %d in good form", way, n.made, n.formed)
		}
		t.Logf("%-34s %8d made, %8d in good form", way, n.made, n.formed)
	}
}

func (g truth) hold(t *testing.T, f *tagcodetest.Forger, n int) map[string]held {
	sum := map[string]held{}
	for range n {
		text, way := f.Next()
		kind, formed, taken := g.reads(text)
		s := sum[way]
		s.made++
		if formed {
			s.formed++
		}
		sum[way] = s
		if g.digests[tagcode.Digest(text)] {
			t.Errorf("%s: %q has the digest of a genuine text", way, text)
		}
		switch {
		case kind == tagcode.KindTag && taken && !g.repeated(text):
			t.Errorf("%s: the tag %q is taken", way, text)
		case kind != tagcode.KindTag && taken:
			t.Errorf("%s: the %s %q is taken", way, kind, text)
		case kind == tagcode.KindHead:
			h, err := tagcode.ParseHead(text)
			if err != nil || g.heads[h] {
				t.Errorf("%s: %q is the head of the register, %v", way, text, err)
			}
		}
	}
	return sum
}

// repeated tells whether a text is a genuine tag behind another prefix.
func (g truth) repeated(text string) bool {
	s, err := tagcode.Parse(text)
	return err == nil && g.tags[s.Tag]
}

// A tag whose dates, load or sling were changed reads, and its seal tells.
func TestForgedFieldsAreForged(t *testing.T) {
	g := newTruth(t, rand.New(rand.NewPCG(1, 0)))
	f, err := tagcodetest.New(rand.New(rand.NewPCG(1, 1)), g.texts, mark(t, 2))
	if err != nil {
		t.Fatal(err)
	}
	told := 0
	for range 20_000 {
		text, way := f.Next()
		if s, err := tagcode.Parse(text); way == "a field" && err == nil {
			told++
			if err := s.Verify(g.key); !errors.Is(err, tagcode.ErrForged) {
				t.Errorf("%q: %v", text, err)
			}
		}
	}
	if told == 0 {
		t.Error("no field was changed in good form")
	}
}
