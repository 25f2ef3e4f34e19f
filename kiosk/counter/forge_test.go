package counter

import (
	"bytes"
	"context"
	"flag"
	"math/rand/v2"
	"testing"
	"time"

	"cribgate/core/tagcode"
	"cribgate/core/tagcode/tagcodetest"
)

var (
	rounds = flag.Int("rounds", 1, "rounds of 4,000 forgeries at the counter")
	seed   = flag.Uint64("seed", 0, "seed of the forgeries; 0 takes the clock")
)

// No text made out of a live tag, out of a badge or a slip, leads to a sling, and
// each is told what it is; the tags themselves do, before and after.
func TestNoForgeryIsASling(t *testing.T) {
	if *seed == 0 {
		*seed = uint64(time.Now().UnixNano())
	}
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("again: go test ./kiosk/counter -run '^%s$' -seed %d -rounds %d", t.Name(), *seed, *rounds)
		}
	})
	b := newBench(t, nil)
	ctx := context.Background()
	var genuine []string
	first, live := b.tagged("NS-0417")
	genuine = append(genuine, live)
	for _, ident := range []string{"NS-0418", "NS-0419"} {
		_, text := b.tagged(ident)
		genuine = append(genuine, text)
	}
	badge, err := tagcode.Badge{Key: b.key.Fingerprint(), Person: tagcode.NumberOf(b.key.Fingerprint(), b.rigger.String()), Serial: 1}.Seal(b.key)
	if err != nil {
		t.Fatal(err)
	}
	slip, err := tagcode.Slip{Key: b.key.Fingerprint(), Sling: first.Number, No: 1, Until: date(t, "2026-03-02")}.Seal(b.key)
	if err != nil {
		t.Fatal(err)
	}
	other, err := tagcode.NewKey(bytes.NewReader(bytes.Repeat([]byte{9}, 32)))
	if err != nil {
		t.Fatal(err)
	}
	f, err := tagcodetest.New(rand.New(rand.NewPCG(*seed, 1)), append([]string{badge.Text(), slip.Text()}, genuine...), other)
	if err != nil {
		t.Fatal(err)
	}
	known := func() {
		for _, text := range genuine {
			if got, err := b.Find(ctx, Reading{Text: text, Way: Scanner}); err != nil || !got.Known || len(got.Codes) > 0 {
				t.Fatalf("a live tag is not found: %+v, %v", got, err)
			}
		}
	}
	known()
	told := map[string]int{}
	for range 4000 * *rounds {
		text, way := f.Next()
		got, err := b.Find(ctx, Reading{Text: text, Way: Scanner})
		if err != nil || got.Known || len(got.Codes) == 0 || got.Sling.Details.Ident != "" {
			t.Errorf("%s: %q: %+v, %v", way, text, got, err)
			continue
		}
		told[got.Codes[0].String()]++
	}
	known()
	for _, code := range []string{"tag-forged", "tag-not-ours", "tag-newer-format", "tag-web-address"} {
		if told[code] == 0 {
			t.Errorf("nothing was told %s: %v", code, told)
		}
	}
	t.Log(told)
}
