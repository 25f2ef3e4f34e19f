package resemble

import (
	"errors"
	"math/rand/v2"
	"testing"

	"cribgate/labeler/symbol"
)

// An anyGrid is a grid of any size out of any bytes, over and over again.
type anyGrid struct {
	modules int
	light   []byte
	over    *shown // what they are laid over, nil for nothing
}

func (g anyGrid) Modules() int { return g.modules }
func (g anyGrid) Light(column, row int) uint8 {
	var v byte
	if len(g.light) > 0 {
		v = g.light[(row*g.modules+column)%len(g.light)]
	}
	if g.over != nil {
		v ^= g.over[row][column]
	}
	return v
}
func (g anyGrid) Known(column, row int) bool { return g.Light(column, row)&3 != 1 }

// An anySum has any newest frame.
type anySum struct{ anyGrid }

func (g anySum) Newest() Grid { return anyGrid{modules: g.modules, light: g.light[len(g.light)/2:]} }

// FuzzFind looks for tags in any grid, also in one that shows a tag with anything done to
// it: that one is found or none, and what is found is as near as is said.
func FuzzFind(f *testing.F) {
	x, all, _ := filled(f, newCrib(rand.New(rand.NewPCG(1, 7)), ""), 200)
	half := make([]byte, symbol.Modules*symbol.Modules)
	for i := range half[:len(half)/2] {
		half[i] = 255
	}
	seeds := [][]byte{{}, {0}, {255}, {0, 255}, half, {0, 0, 0, 0, 0, 0, 0, 255}}
	if len(seeds) != 6 {
		f.Fatal("a seed is missing")
	}
	for i, s := range seeds {
		f.Add(s, uint8(symbol.Modules), uint8(i), uint8(i))
	}
	f.Fuzz(func(t *testing.T, light []byte, modules, way, tag uint8) {
		n := int(tag) % len(all)
		g := anyGrid{modules: int(modules), light: light}
		if g.modules == symbol.Modules && way&8 == 0 {
			g.over = worn(rand.New(rand.NewPCG(2, uint64(tag))), all[n], 0).turned(int(way) % turns)
		}
		var grid Grid = g
		if way&16 != 0 {
			grid = anySum{g}
		}
		m, ok := x.Find([]Grid{grid})
		switch {
		case !ok && m != (Match{}):
			t.Errorf("%+v, and none is found", m)
		case ok && (g.over == nil || m.ID != id(n)):
			t.Errorf("tag %x is found in what shows %d", m.ID[:3], n)
		case ok && 3*m.Wrong > m.Known:
			t.Errorf("%d of %d modules are wrong", m.Wrong, m.Known)
		case !ok && g.over != nil && len(light) == 0 && way&16 == 0:
			t.Error("a clean tag is not found")
		}
	})
}

// FuzzPut keeps any text drawn in any way, or says that no tag is drawn so; what it keeps
// is found as it was drawn.
func FuzzPut(f *testing.F) {
	r := rand.New(rand.NewPCG(1, 7))
	seeds := []string{"", "HTTPS://CRIB.EXAMPLE/", newCrib(r, "").tag(f, "CABCDEFGHIJKLMNOPQRST").Text(), newCrib(r, "HTTPS://CRIB.EXAMPLE/").tag(f, "CABCDEFGHIJKLMNOPQRST").Text(), "C\x00", "É"}
	if len(seeds) != 6 {
		f.Fatal("a seed is missing")
	}
	for i, s := range seeds {
		f.Add(s, symbol.Version, "QH"[i%2], i)
	}
	f.Fuzz(func(t *testing.T, text string, version int, level byte, mask int) {
		var x Index
		err := x.Put(id(1), text, version, symbol.Level(level), mask)
		if err != nil {
			if !errors.Is(err, ErrForm) || x.Len() != 0 {
				t.Errorf("%v, with %d tags", err, x.Len())
			}
			return
		}
		s, err := symbol.Again(text, version, symbol.Level(level), mask)
		if err != nil {
			t.Fatal(err)
		}
		if m, ok := x.Find([]Grid{worn(r, s, 0).turned(mask & 7)}); !ok || m.ID != id(1) || m.Wrong != 0 {
			t.Errorf("%q is kept and not found: %d of %d wrong", text, m.Wrong, m.Known)
		}
	})
}
