package worn

import (
	"bytes"
	"context"
	"crypto/rand"
	"flag"
	"image"
	"image/color"
	"image/png"
	"log/slog"
	mathrand "math/rand/v2"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/kiosk/resemble"
	"cribgate/kiosk/scan"
	"cribgate/labeler/symbol"
	"cribgate/store"
	"cribgate/store/keyring"
	"cribgate/store/storetest"
)

var (
	rounds = flag.Int("rounds", 15, "how many pictures are shown that have no tag of the crib")
	seed   = flag.Uint64("seed", 1, "of what is drawn by lot")
)

// A crib has some slings with tags on them.
type crib struct {
	*Tags
	key   tagcode.Key
	texts []string
	ids   []event.SlingID
}

func newCrib(t *testing.T, slings int) *crib {
	t.Helper()
	register, _, keys := store.Paths(t.TempDir())
	key, err := keyring.Create(keys, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	ring, err := keyring.Load(keys)
	if err != nil {
		t.Fatal(err)
	}
	founding := storetest.Founding()
	founding.Key = key.Fingerprint()
	clock := &storetest.Clock{T: time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC)}
	s, _, err := store.Init(t.Context(), register, founding, store.Options{Program: "test", Now: clock.Now})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	c := &crib{Tags: New(s, ring, slog.New(slog.DiscardHandler)), key: key}
	for n := range slings {
		d := storetest.Sling(n + 1)
		id := event.SlingOf(key.Fingerprint(), d.Ident)
		storetest.Append(t, s, id, nil, event.Registered{Details: d})
		c.ids = append(c.ids, id)
		c.texts = append(c.texts, "")
		c.hang(t, n)
	}
	return c
}

// hang prints the next tag of a sling and confirms it.
func (c *crib) hang(t *testing.T, n int) {
	t.Helper()
	s, err := c.store.Sling(t.Context(), c.ids[n])
	if err != nil {
		t.Fatal(err)
	}
	tag, err := s.Tag(c.key.Fingerprint(), s.NextSerial())
	if err != nil {
		t.Fatal(err)
	}
	sealed, err := tag.Seal(c.key)
	if err != nil {
		t.Fatal(err)
	}
	drawn, err := symbol.Encode(sealed.Text())
	if err != nil {
		t.Fatal(err)
	}
	s = storetest.Append(t, c.store, s.ID, s.Heads, event.TagPrinted{Serial: tag.Serial, Key: tag.Key, Digest: tagcode.Digest(sealed.Text()),
		Version: symbol.Version, Level: drawn.Level().String(), Mask: drawn.Mask(), Stock: "test"})
	storetest.Append(t, c.store, s.ID, s.Heads, event.TagConfirmed{Serial: tag.Serial, Typed: "001"})
	c.texts[n] = sealed.Text()
}

// shown is a PNG of what drawn draws.
func shown(t *testing.T, r *mathrand.Rand, text string, one int) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := png.Encode(&out, drawn(t, r, text, one)); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// drawn draws a tag of which one module in so many is wrong, 0 for none.
func drawn(t *testing.T, r *mathrand.Rand, text string, one int) *image.Gray {
	t.Helper()
	s, err := symbol.Encode(text)
	if err != nil {
		t.Fatal(err)
	}
	const pixels = 7
	const side = (symbol.Modules + 2*symbol.QuietZone) * pixels
	m := image.NewGray(image.Rect(0, 0, side, side))
	wrong := [symbol.Modules][symbol.Modules]bool{}
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			_, data := symbol.CodewordOf(column, row)
			wrong[row][column] = data && one > 0 && r.IntN(one) == 0
		}
	}
	for y := range side {
		for x := range side {
			column, row := x/pixels-symbol.QuietZone, y/pixels-symbol.QuietZone
			dark := s.Dark(column, row)
			if column >= 0 && row >= 0 && column < symbol.Modules && row < symbol.Modules && wrong[row][column] {
				dark = !dark
			}
			light := 215
			if dark {
				light = 40
			}
			m.SetGray(x, y, color.Gray{Y: uint8(light + r.IntN(20))})
		}
	}
	return m
}

// read gives what a picture comes to.
func (c *crib) read(t *testing.T, picture []byte) (text string, like bool) {
	t.Helper()
	s, grids, err := scan.NewReader(1).ReadGrids(t.Context(), picture)
	if err == nil {
		if err := c.Saw(t.Context(), s.Text(), s.Grid(), true); err != nil {
			t.Fatal(err)
		}
		return s.Text(), false
	}
	text, like, err = c.Resembles(t.Context(), grids, nil)
	if err != nil {
		t.Fatal(err)
	}
	return text, like
}

// What hangs is resembled, from a picture that does not read, until another tag hangs
// in its place; and what is worn of a tag that reads is measured.
func TestWornTags(t *testing.T) {
	c := newCrib(t, 40)
	if _, like := c.read(t, shown(t, mathrand.New(mathrand.NewPCG(*seed, 1)), c.texts[5], 14)); like {
		t.Error("something is resembled before there is an index")
	}
	ctx, stop := context.WithCancel(t.Context())
	at, err := c.Fill(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if known, absent := c.Size(); known != 40 || absent != 0 {
		t.Fatalf("%d of 40 tags are known, %d cannot be made again", known, absent)
	}
	r := mathrand.New(mathrand.NewPCG(*seed, 2))
	for n := range 5 {
		if text, like := c.read(t, shown(t, r, c.texts[n], 14)); !like || text != c.texts[n] {
			t.Errorf("tag %d, one module in fourteen wrong: resembled %v, the right one %v", n, like, text == c.texts[n])
		}
	}
	if w, ok := c.Wear(c.texts[0]); !ok || !w.Resembled || w.Left() > 0 {
		t.Errorf("of a tag that was resembled only: %+v, %v", w, ok)
	}
	old := c.texts[3]
	c.hang(t, 3)
	if _, err = c.catchUp(ctx, at); err != nil {
		t.Fatal(err)
	}
	if text, like := c.read(t, shown(t, r, old, 14)); like {
		t.Errorf("a tag that was replaced resembles %q", text)
	}
	if text, like := c.read(t, shown(t, r, c.texts[3], 14)); !like || text != c.texts[3] {
		t.Error("the tag that hangs in its place is not known")
	}
	stop()
	left := 101
	for _, one := range []int{0, 200, 60} {
		c.seen = map[resemble.Digest]*seen{}
		if text, like := c.read(t, shown(t, r, c.texts[7], one)); like || text != c.texts[7] {
			t.Fatalf("one module in %d wrong: it does not read", one)
		}
		w, ok := c.Wear(c.texts[7])
		if !ok || w.Resembled || len(w.Blocks) != symbol.Blocks || w.Left() >= left || one == 0 && w.Left() != 100 {
			t.Errorf("one module in %d wrong: %+v, %v; %d %% left after %d", one, w, ok, w.Left(), left)
		}
		left = w.Left()
	}
	if c.Wear("no tag"); len(c.seen) != 1 {
		t.Error("what was never seen is remembered")
	}
	if (state.Wear{}).News(state.Reading{Left: 90}) {
		t.Error("a tag as good as new is news")
	}
}

// Frames of one tag of which none is resembled are, together; frames of one tag and then
// of another, or of the tag that hung there before, resemble none.
func TestRunsOfFrames(t *testing.T) {
	c := newCrib(t, 12)
	old := c.texts[0]
	c.hang(t, 0)
	if _, err := c.Fill(t.Context()); err != nil {
		t.Fatal(err)
	}
	r := mathrand.New(mathrand.NewPCG(*seed, 4))
	reader := scan.NewReader(1)
	frame := func(text string) scan.Grid {
		t.Helper()
		for range 20 {
			_, grids, err := reader.Lay(t.Context(), drawn(t, r, text, 5))
			if err != nil && len(grids) > 0 && grids[0].Modules() == symbol.Modules {
				return grids[0]
			}
		}
		t.Fatal("no grid of a tag of which a fifth is wrong")
		return scan.Grid{}
	}
	ask := func(want string, grids []scan.Grid, runs ...[]scan.Grid) bool {
		t.Helper()
		got, like, err := c.Resembles(t.Context(), grids, runs)
		if err != nil || like && got != want {
			t.Fatalf("%q for %q, %v", got, want, err)
		}
		return like
	}
	const tries, frames = 3, 4
	alone, together := 0, 0
	last := map[string]scan.Grid{"the tag that hung before": frame(old)}
	for n := range tries {
		var run []scan.Grid
		for range frames {
			run = append(run, frame(c.texts[n]))
		}
		if ask(c.texts[n], run[:1]) {
			alone++
		}
		if ask(c.texts[n], nil, run) {
			together++
		}
		for name, g := range last {
			if ask("", nil, append([]scan.Grid{g}, run[1:]...)) {
				t.Errorf("tag %d, and last %s", n, name)
			}
		}
		last["another tag that hangs"] = run[0]
	}
	t.Logf("a fifth of all data modules wrong in each frame: one frame resembles %d of %d tags, %d frames together %d", alone, tries, frames, together)
	if alone > 0 || together < tries-1 {
		t.Error("adding up brings nothing")
	}
}
