package card_test

import (
	"bytes"
	"flag"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/labeler/card"
	"cribgate/labeler/render"
	"cribgate/labeler/sheet"
)

var update = flag.Bool("update", false, "write the pictures in testdata anew; look at them")

// shades are few, so that a picture is small enough to keep.
var shades = color.Palette{color.Gray{0}, color.Gray{0x55}, color.Gray{0xaa}, color.Gray{0xff}}

// pictureOf draws a page in few shades, 100 dots to the inch.
func pictureOf(t *testing.T, d sheet.Drawing) *image.Paletted {
	t.Helper()
	var b bytes.Buffer
	if _, err := render.PNG(&b, d.Page(), 100, render.Options{}); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	few := image.NewPaletted(img.Bounds(), shades)
	draw.Draw(few, few.Bounds(), img, img.Bounds().Min, draw.Src)
	return few
}

// The cards look as they did when somebody looked at them. A few dots may differ,
// as another smoothing of edges has it.
func TestLooks(t *testing.T) {
	for name, pages := range looks(t) {
		for i, d := range pages {
			file := filepath.Join("testdata", name+"-"+string(rune('1'+i))+".png")
			got := pictureOf(t, d)
			if *update {
				var b bytes.Buffer
				if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, got); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
				continue
			}
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			want, err := png.Decode(bytes.NewReader(data))
			if err != nil {
				t.Fatal(err)
			}
			if n := different(want.(*image.Paletted), got); n > 200 {
				t.Errorf("%s: %d dots differ; if that is meant, go test -update and look", file, n)
			}
		}
	}
}

// looks are a card of each kind and system.
func looks(t *testing.T) map[string][]sheet.Drawing {
	t.Helper()
	all := map[string][]sheet.Drawing{}
	us := record(t)
	us.Sling.Legs, us.Sling.Adjustable = 4, true
	us.Sling.Stamped = []rating.Stamp{{Legs: 4, Basis: rating.H60, Load: 18_400 * quantity.Pound}}
	en := record(t)
	en.Ident, en.Units = "KS-12/3", quantity.Metric
	en.Sling.System, en.Sling.Size, en.Sling.Legs = rating.EN, size(t, rating.EN, "13"), 1
	en.Sling.Stamped = []rating.Stamp{{Legs: 1, Basis: rating.Vertical, Load: 5_300 * quantity.Kilogram}}
	for name, r := range map[string]card.Record{"pocket-us": us, "pocket-en": en} {
		p, err := r.Pocket()
		if err != nil {
			t.Fatal(err)
		}
		if all[name], err = p.Draw(); err != nil {
			t.Fatal(err)
		}
	}
	for name, z := range map[string]rating.Size{"gauge-us": size(t, rating.US, "3/8"), "gauge-en": size(t, rating.EN, "20")} {
		paper, err := card.ParsePaper("", z.System())
		if err != nil {
			t.Fatal(err)
		}
		g, err := card.NewGauge(rating.Grade80, z, paper)
		if err != nil {
			t.Fatal(err)
		}
		d, err := g.Draw()
		if err != nil {
			t.Fatal(err)
		}
		all[name] = []sheet.Drawing{d}
	}
	return all
}

// different counts the dots of two pictures that are more than a shade apart.
func different(a, b *image.Paletted) (n int) {
	if a.Rect != b.Rect {
		return len(a.Pix)
	}
	for i := range a.Pix {
		if d := int(a.Pix[i]) - int(b.Pix[i]); d > 1 || d < -1 {
			n++
		}
	}
	return n
}
