package render_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"io"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"pgregory.net/rapid"

	"cribgate/core/quantity"
	"cribgate/labeler/render"
	"cribgate/labeler/sheet"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

const (
	body   = "CDEFGHIJKLMNOPQRSTUVWXYZ234567ABCDEFGHIJKLMNOPQRSTUVWXYZ234567AB"
	prefix = "HTTPS://CRIB.EXAMPLE/"
)

// resolutions are those in common use; -short leaves out the one that takes
// longest under the race detector.
func resolutions() []int {
	if testing.Short() {
		return []int{203, 300}
	}
	return []int{203, 300, 600}
}

func stocks(t testing.TB) []printtemplates.Stock {
	t.Helper()
	all, err := printtemplates.OfKind(printtemplates.Tag)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func facts(id string) map[printtemplates.Word]string {
	return map[printtemplates.Word]string{
		printtemplates.ID: id, printtemplates.Size: "3/8 in", printtemplates.Grade: "Grade 80",
		printtemplates.Legs: "2 legs", printtemplates.Reach: "7 ft 10 1/2 in",
		printtemplates.LoadName: "Rated load", printtemplates.Load: "12,300 lb", printtemplates.Angle: "at 60° from horizontal",
		printtemplates.Inspected: "2025-11", printtemplates.Code: "3F2-9KQ-7TM",
		printtemplates.Name: "A. Rigger", printtemplates.Role: "rigger", printtemplates.Crib: "Crib 1",
		printtemplates.Until: "31 Mar 2026", printtemplates.Issued: "30 Mar 2026",
		printtemplates.Lift: "pump, 9,000 lb", printtemplates.Hitch: "straight", printtemplates.Required: "10,400 lb",
		printtemplates.Allowed: "12,300 lb", printtemplates.Record: "position 412",
	}
}

// content fills any stock: with a colour of the period where it shows one.
func content(t rapid.TB, stock printtemplates.Stock, text string) sheet.Content {
	t.Helper()
	c := sheet.Content{Kind: stock.Kind, Facts: facts("CS-0417"), FirstYear: 2025}
	var err error
	if c.Symbol, err = symbol.Encode(text); err != nil {
		t.Fatal(err)
	}
	if c.Due, err = quantity.ParseDate("2026-11-10"); err != nil {
		t.Fatal(err)
	}
	if stock.Period.Width > 0 {
		c.Period = printtemplates.Green
	}
	return c
}

func drawing(t testing.TB, stock printtemplates.Stock, text string) sheet.Drawing {
	t.Helper()
	d, err := sheet.Layout(stock, content(t, stock, text))
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func pngOf(t testing.TB, d sheet.Drawing, dpi int, o render.Options) ([]byte, render.Raster) {
	t.Helper()
	var b bytes.Buffer
	r, err := render.PNG(&b, d.Page(), dpi, o)
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes(), r
}

func greyOf(img image.Image) *image.Gray {
	if grey, ok := img.(*image.Gray); ok {
		return grey
	}
	grey := image.NewGray(img.Bounds())
	draw.Draw(grey, grey.Rect, img, img.Bounds().Min, draw.Src)
	return grey
}

// read decodes a picture with another library than the one that encoded it.
func read(img image.Image) (string, error) {
	bitmap, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		return "", err
	}
	got, err := qrcode.NewQRCodeReader().Decode(bitmap, nil)
	if err != nil {
		return "", err
	}
	return got.GetText(), nil
}

func TestSVG(t *testing.T) {
	for _, stock := range stocks(t) {
		d := drawing(t, stock, body)
		d.Title = `A<&>"1`
		var b bytes.Buffer
		if err := render.SVG(&b, d.Page(), render.Options{}); err != nil {
			t.Fatal(err)
		}
		var doc struct {
			Width   string `xml:"width,attr"`
			Height  string `xml:"height,attr"`
			ViewBox string `xml:"viewBox,attr"`
			Title   string `xml:"title"`
			Desc    string `xml:"desc"`
			Paths   []struct {
				ID   string `xml:"id,attr"`
				Fill string `xml:"fill,attr"`
				D    string `xml:"d,attr"`
			} `xml:"path"`
		}
		if err := xml.Unmarshal(b.Bytes(), &doc); err != nil {
			t.Fatal(err)
		}
		mm := func(l quantity.Length) string { return fmt.Sprintf("%.3fmm", float64(l)/1000) }
		if doc.Width != mm(stock.Width) || doc.Height != mm(stock.Height) || doc.ViewBox != fmt.Sprintf("0 0 %d %d", stock.Width, stock.Height) {
			t.Errorf("%s: %s × %s, view %s", stock.Name, doc.Width, doc.Height, doc.ViewBox)
		}
		if doc.Title != d.Title || !strings.Contains(doc.Desc, "12,300 lb\nat 60° from horizontal") {
			t.Errorf("%s: title %q, description %q", stock.Name, doc.Title, doc.Desc)
		}
		var ids []string
		for _, p := range doc.Paths {
			ids = append(ids, p.ID+p.Fill)
		}
		want := []string{"black#000000"}
		if second := slices.ContainsFunc(d.Texts, func(x sheet.Text) bool { return x.Colour == sheet.Second }) ||
			slices.ContainsFunc(d.Ink, func(x sheet.Area) bool { return x.Colour == sheet.Second }); second {
			want = []string{fmt.Sprintf("second#%02x%02x%02x", d.Tint.R, d.Tint.G, d.Tint.B), "black#000000"}
		}
		if !slices.Equal(ids, want) {
			t.Fatalf("%s: paths %q, want %q", stock.Name, ids, want)
		}
		if n := strings.Count(doc.Paths[len(want)-1].D, "Z"); n != len(d.Symbol.Contours()) {
			t.Errorf("%s: symbol has %d outlines, want %d", stock.Name, n, len(d.Symbol.Contours()))
		}
	}
}

func TestOutlineIsDrawnOnRequest(t *testing.T) {
	for _, stock := range stocks(t) {
		d := drawing(t, stock, body)
		middle := func(o render.Options) bool { // of the right edge
			data, _ := pngOf(t, d, 300, o)
			img, err := png.Decode(bytes.NewReader(data))
			if err != nil {
				t.Fatal(err)
			}
			v, _, _, _ := img.At(img.Bounds().Max.X-1, img.Bounds().Max.Y/2).RGBA()
			return v < 0x8000
		}
		if middle(render.Options{}) || !middle(render.Options{Outline: true}) {
			t.Errorf("%s: edge inked without request, or not on request", stock.Name)
		}
		var plain, outlined bytes.Buffer
		for _, c := range []struct {
			w io.Writer
			o render.Options
		}{{&plain, render.Options{}}, {&outlined, render.Options{Outline: true}}} {
			if err := render.SVG(c.w, d.Page(), c.o); err != nil {
				t.Fatal(err)
			}
		}
		if strings.Contains(plain.String(), `id="blank"`) || !strings.Contains(outlined.String(), `id="blank"`) {
			t.Errorf("%s: SVG edge without request, or not on request", stock.Name)
		}
	}
}

func TestPDFWithoutTags(t *testing.T) {
	if err := render.NewPDF(io.Discard, render.Options{}).Close(); !errors.Is(err, render.ErrNoTag) {
		t.Errorf("error %v, want ErrNoTag", err)
	}
}

func TestSameTagsSameBytes(t *testing.T) {
	once := func() []byte {
		var b bytes.Buffer
		p := render.NewPDF(&b, render.Options{})
		for _, stock := range stocks(t) {
			d := drawing(t, stock, body)
			if err := p.Add(d.Page()); err != nil {
				t.Fatal(err)
			}
			if err := render.SVG(&b, d.Page(), render.Options{}); err != nil {
				t.Fatal(err)
			}
			if _, err := render.PNG(&b, d.Page(), 300, render.Options{}); err != nil {
				t.Fatal(err)
			}
		}
		if err := p.Close(); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	if !bytes.Equal(once(), once()) {
		t.Error("the same tags gave other bytes")
	}
}

// failing is a writer that is full.
type failing struct{}

var errFull = errors.New("no space left")

func (failing) Write([]byte) (int, error) { return 0, errFull }

func TestWriteErrors(t *testing.T) {
	d := drawing(t, stocks(t)[0], body)
	p := render.NewPDF(failing{}, render.Options{})
	if err := p.Add(d.Page()); err != nil {
		t.Fatal(err)
	}
	_, pngErr := render.PNG(failing{}, d.Page(), 300, render.Options{})
	for name, err := range map[string]error{
		"PDF": p.Close(), "PNG": pngErr,
		"SVG": render.SVG(failing{}, d.Page(), render.Options{}), "DXF": render.DXF(failing{}, d.Page(), render.Options{}),
	} {
		if !errors.Is(err, errFull) {
			t.Errorf("%s on a full disk: error %v", name, err)
		}
	}
}

// Pages leave nothing behind but where they lie in the file: between a thousand
// and five thousand a document grows by less than 64 bytes a page.
func TestPDFMemoryDoesNotGrow(t *testing.T) {
	d := drawing(t, stocks(t)[0], body)
	p := render.NewPDF(io.Discard, render.Options{})
	held := func(pages int) int64 {
		for range pages {
			if err := p.Add(d.Page()); err != nil {
				t.Fatal(err)
			}
		}
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return int64(m.HeapAlloc)
	}
	before := held(1000)
	if grown := held(4000) - before; grown > 4000*64 {
		t.Errorf("4,000 pages more hold %d bytes more", grown)
	}
	runtime.KeepAlive(p)
}

func BenchmarkPDF(b *testing.B) {
	d := drawing(b, stocks(b)[0], body)
	p := render.NewPDF(io.Discard, render.Options{})
	for b.Loop() {
		if err := p.Add(d.Page()); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSVG(b *testing.B) {
	d := drawing(b, stocks(b)[0], body)
	for b.Loop() {
		if err := render.SVG(io.Discard, d.Page(), render.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPNG300(b *testing.B) {
	d := drawing(b, stocks(b)[0], body)
	for b.Loop() {
		if _, err := render.PNG(io.Discard, d.Page(), 300, render.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
