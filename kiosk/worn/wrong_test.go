package worn

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"image"
	mathrand "math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"cribgate/core/event"
	"cribgate/core/tagcode"
	"cribgate/kiosk/resemble"
	"cribgate/kiosk/scan"
	"cribgate/labeler/symbol"
	"cribgate/store/keyring"
)

var (
	registers = flag.Int("registers", 2, "how many further registers each picture is held against")
	live      = flag.Int("live", 300, "how many live tags each of them has")
)

// stranger is a register of other slings with tags on them, under a key of its own. Which
// mask a tag has is drawn by lot.
func (c *crib) stranger(t *testing.T, r *mathrand.Rand, tags int) *resemble.Index {
	t.Helper()
	s, err := c.store.Sling(t.Context(), c.ids[0])
	if err != nil {
		t.Fatal(err)
	}
	key, err := keyring.Create(t.TempDir(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	tag, err := s.Tag(key.Fingerprint(), 1)
	if err != nil {
		t.Fatal(err)
	}
	x := &resemble.Index{}
	for i := range tags {
		tag.Number = event.SlingOf(key.Fingerprint(), fmt.Sprintf("X-%05d", i)).Number
		sealed, err := tag.Seal(key)
		if err != nil {
			t.Fatal(err)
		}
		if i%2 == 1 {
			if sealed, err = sealed.WithPrefix("HTTPS://CRIB.EXAMPLE/T/"); err != nil {
				t.Fatal(err)
			}
		}
		text, level := sealed.Text(), symbol.LevelH
		if i%2 == 1 {
			level = symbol.LevelQ
		}
		if err := x.Put(tagcode.Digest(text), text, symbol.Version, level, r.IntN(8)); err != nil {
			t.Fatal(err)
		}
	}
	return x
}

// noisy is a picture cut a little differently, darker or lighter, with noise on it.
func noisy(r *mathrand.Rand, m *image.Gray) *image.Gray {
	w, h := m.Rect.Dx(), m.Rect.Dy()
	left, top := r.IntN(w/12+1), r.IntN(h/12+1)
	out := image.NewGray(image.Rect(0, 0, w-left-r.IntN(w/12+1), h-top-r.IntN(h/12+1)))
	gain, noise := 0.6+0.5*r.Float64(), 25*r.Float64()
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			v := gain*float64(m.Pix[(y+top)*m.Stride+x+left]) + noise*r.NormFloat64()
			out.Pix[y*out.Stride+x] = uint8(min(max(v, 0), 255))
		}
	}
	return out
}

// pictures are those of a folder that an environment variable names, DIR/SET/NAME.
func pictures(t *testing.T, variable string) (paths []string) {
	t.Helper()
	dir := os.Getenv(variable)
	if dir == "" {
		t.Logf("%s names no folder, so none of its pictures are shown", variable)
		return nil
	}
	for _, ending := range []string{"png", "jpg"} {
		some, err := filepath.Glob(filepath.Join(dir, "*", "*."+ending))
		if err != nil {
			t.Fatal(err)
		}
		paths = append(paths, some...)
	}
	if len(paths) == 0 {
		t.Fatalf("%s: no pictures in %s", variable, dir)
	}
	slices.Sort(paths)
	return paths
}

func opened(t *testing.T, path string) *image.Gray {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	m, err := scan.Picture(data)
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	grey := image.NewGray(image.Rect(0, 0, m.Bounds().Dx(), m.Bounds().Dy()))
	for y := range grey.Rect.Dy() {
		for x := range grey.Rect.Dx() {
			grey.Set(x, y, m.At(x+m.Bounds().Min.X, y+m.Bounds().Min.Y))
		}
	}
	return grey
}

// No picture without one of its tags leads to a sling: tags that were replaced or are
// of another crib, worn past reading, noise between three finders, photographs
// (CRIBGATE_PHOTOS) and scenes of worn tags (CRIBGATE_SCENES), each as it is once and
// then cut differently, with noise on it.
//
// Keys are drawn anew each time; all else follows from the seed.
//
// What counts as a try: one picture, off which at least one grid of a tag's size was
// laid, held against one register in which no tag hangs that it shows; all its grids
// together, and each added up with the grids of the picture before it, as frames of a
// camera are. One register is that of the slings whose older tags are shown; the others
// have keys and slings of their own (-registers), and -live tags each.
func TestNoWrongSling(t *testing.T) {
	t.Logf("seed %d: go test ./kiosk/worn -run '^%s$' -rounds %d -registers %d -live %d -seed %d", *seed, t.Name(), *rounds, *registers, *live, *seed)
	r := mathrand.New(mathrand.NewPCG(*seed, 3))
	c := newCrib(t, 30)
	old := slices.Clone(c.texts)
	for n := range 10 {
		c.hang(t, n)
	}
	if _, err := c.Fill(t.Context()); err != nil {
		t.Fatal(err)
	}
	other := newCrib(t, 5)
	var strangers []*resemble.Index
	for range *registers {
		strangers = append(strangers, c.stranger(t, r, *live))
	}
	kinds := []string{"replaced", "of another crib", "noise"}
	from := map[string][]string{}
	for _, source := range [][2]string{{"photograph", "CRIBGATE_PHOTOS"}, {"scene", "CRIBGATE_SCENES"}} {
		if paths := pictures(t, source[1]); len(paths) > 0 {
			r.Shuffle(len(paths), func(i, j int) { paths[i], paths[j] = paths[j], paths[i] })
			from[source[0]], kinds = paths, append(kinds, source[0])
		}
	}
	reader := scan.NewReader(1)
	tries, shows, all := map[string]int{}, map[string]int{}, 0
	told := func() {
		var said bytes.Buffer
		for _, kind := range kinds {
			fmt.Fprintf(&said, "; %s: %d pictures, %d tries", kind, shows[kind], tries[kind])
		}
		t.Logf("%d tries, no wrong sling%s", all, said.String())
	}
	var before []scan.Grid
	for i := range *rounds {
		if i%50 == 49 {
			told()
		}
		kind := kinds[i%len(kinds)]
		nth := shows[kind]
		shows[kind]++
		var m *image.Gray
		switch kind {
		case "replaced":
			m = drawn(t, r, old[r.IntN(10)], 8+r.IntN(20))
		case "of another crib":
			m = drawn(t, r, other.texts[r.IntN(5)], 8+r.IntN(20))
		case "noise":
			m = drawn(t, r, old[0], 2)
		default:
			if m = opened(t, from[kind][nth%len(from[kind])]); nth >= len(from[kind]) {
				m = noisy(r, m)
			}
		}
		_, grids, err := reader.Lay(t.Context(), m)
		if _, unread := errors.AsType[scan.Problem](err); err != nil && !unread {
			t.Fatal(err)
		}
		grids = slices.DeleteFunc(grids, func(g scan.Grid) bool { return g.Modules() != symbol.Modules })
		if len(grids) == 0 {
			continue
		}
		var runs [][]scan.Grid
		var shown []resemble.Grid
		for _, g := range grids {
			shown = append(shown, g)
			for _, b := range before[:min(len(before), 1)] {
				runs = append(runs, []scan.Grid{g, b})
				shown = append(shown, added{scan.Mean(g, b), g})
			}
		}
		before = grids
		tries[kind] += 1 + len(strangers)
		all += 1 + len(strangers)
		if text, like, err := c.Resembles(context.Background(), grids, runs); like || err != nil {
			t.Fatalf("round %d, %s: %q, %v, %v", i, kind, text, like, err)
		}
		for n, x := range strangers {
			if match, ok := x.Find(shown); ok {
				t.Fatalf("round %d, %s: tag %x of register %d, with %d of %d modules wrong", i, kind, match.ID, n, match.Wrong, match.Known)
			}
		}
	}
	told()
	if all < *rounds*(1+len(strangers))/3 {
		t.Errorf("of %d pictures too few had grids: %d tries", *rounds, all)
	}
}
