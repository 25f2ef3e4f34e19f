package webtest

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/chromedp/chromedp"
)

var update = flag.Bool("update-pictures", false, "write the kept pictures of pages anew")

// Kept holds the page, at a phone's and at a desk's size by day, against the
// pictures NAME-phone.png and NAME-desk.png kept in dir, with a tolerance: codes
// and hashes differ from run to run and letters from machine to machine, but a
// page that has lost its shape is told. A picture that is not there is an error;
// -update-pictures writes it.
func (p *Page) Kept(dir, name string) {
	p.t.Helper()
	defer p.Size(1280, 800)
	for _, size := range []struct {
		name          string
		width, height int
	}{{"phone", 390, 844}, {"desk", 1280, 800}} {
		p.keptAs(dir, name+"-"+size.name, size.width, size.height)
	}
}

// Keeps writes DIR/NAME.png at one size where -update-pictures asks for it, and holds
// nothing against it: for a page that says today's date. The window is as high as the
// page afterwards.
func (p *Page) Keeps(dir, name string, width, height int) {
	p.t.Helper()
	if now := p.whole(name, width, height); *update {
		keep(p.t, filepath.Join(dir, name+".png"), now)
	}
}

// whole is a picture of the page from its top to its end, which the window then shows.
func (p *Page) whole(name string, width, height int) image.Image {
	p.t.Helper()
	p.Size(width, height)
	// What sticks to the window's edge would lie across the middle of a long page.
	p.Size(width, max(height, Eval[int](p, `document.documentElement.scrollHeight`)))
	return p.picture(name)
}

func (p *Page) keptAs(dir, name string, width, height int) {
	p.t.Helper()
	file := filepath.Join(dir, name+".png")
	now := p.whole(name, width, height)
	if *update {
		keep(p.t, file, now)
		return
	}
	kept, err := readPNG(file)
	if errors.Is(err, fs.ErrNotExist) {
		p.t.Errorf("there is no kept picture %s; look at the page, then run with -update-pictures", file)
		return
	}
	if err != nil {
		p.t.Fatal(err)
	}
	if why := differs(kept, now); why != "" {
		p.t.Errorf("the page is not what %s shows: %s; look at both, then run with -update-pictures", file, why)
	}
}

func (p *Page) picture(name string) image.Image {
	p.t.Helper()
	m, err := png.Decode(bytes.NewReader(p.shot(name)))
	if err != nil {
		p.t.Fatalf("browser: picture %s: %v", name, err)
	}
	return m
}

func (p *Page) shot(name string) []byte {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	data, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err != nil {
		p.t.Fatalf("browser: picture %s: %v", name, err)
	}
	return data
}

func keep(t testing.TB, file string, m image.Image) {
	t.Helper()
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, small(m)); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

// small draws a picture with a palette of its 256 commonest colours, which are
// the flat ones and most of the edges of letters; the rest take the nearest.
func small(m image.Image) image.Image {
	bounds := m.Bounds()
	count := map[color.RGBA]int{}
	at := func(x, y int) color.RGBA { return color.RGBAModel.Convert(m.At(x, y)).(color.RGBA) }
	for y := bounds.Min.Y; y < bounds.Max.Y; y++ {
		for x := bounds.Min.X; x < bounds.Max.X; x++ {
			count[at(x, y)]++
		}
	}
	common := slices.SortedFunc(maps.Keys(count), func(a, b color.RGBA) int {
		return cmp.Or(cmp.Compare(count[b], count[a]), cmp.Compare(uint(a.R)<<16|uint(a.G)<<8|uint(a.B), uint(b.R)<<16|uint(b.G)<<8|uint(b.B)))
	})
	var palette color.Palette
	for _, c := range common[:min(len(common), 256)] {
		palette = append(palette, c)
	}
	index := map[color.RGBA]uint8{}
	for c := range count {
		index[c] = uint8(palette.Index(c))
	}
	flat := image.NewPaletted(bounds, palette)
	for y := bounds.Min.Y; y < bounds.Max.Y; y++ {
		for x := bounds.Min.X; x < bounds.Max.X; x++ {
			flat.Pix[flat.PixOffset(x, y)] = index[at(x, y)]
		}
	}
	return flat
}

func readPNG(file string) (image.Image, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return png.Decode(f)
}

// How far a page may be from its picture (common practice, no source).
const (
	block      = 16   // pixels; a block's mean brightness is what is compared
	mostLonger = 0.06 // of the height
	mostShade  = 28   // of 255
	mostBlocks = 0.05 // of the blocks that both have
)

// differs says why two pictures of a page are not alike; empty where they are.
func differs(kept, now image.Image) string {
	a, b := kept.Bounds(), now.Bounds()
	if a.Dx() != b.Dx() {
		return fmt.Sprintf("it is %d pixels wide and was %d", b.Dx(), a.Dx())
	}
	if d := b.Dy() - a.Dy(); float64(max(d, -d)) > mostLonger*float64(a.Dy()) {
		return fmt.Sprintf("it is %d pixels high and was %d", b.Dy(), a.Dy())
	}
	all, other := 0, 0
	for y := 0; y+block <= min(a.Dy(), b.Dy()); y += block {
		for x := 0; x+block <= a.Dx(); x += block {
			all++
			if d := shade(kept, x, y) - shade(now, x, y); max(d, -d) > mostShade {
				other++
			}
		}
	}
	if float64(other) > mostBlocks*float64(all) {
		return fmt.Sprintf("%d of %d places differ", other, all)
	}
	return ""
}

// shade is the mean brightness of a block, 0 to 255.
func shade(m image.Image, x, y int) int {
	sum := 0
	for dy := range block {
		for dx := range block {
			r, g, b, _ := m.At(m.Bounds().Min.X+x+dx, m.Bounds().Min.Y+y+dy).RGBA()
			sum += int(299*r+587*g+114*b) / 1000 >> 8
		}
	}
	return sum / (block * block)
}
