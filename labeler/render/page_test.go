package render_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/labeler/render"
	"cribgate/labeler/sheet"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

// texts are many texts of tags, each another one.
func texts(n int) []string {
	const set = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"
	all := make([]string, n)
	for i := range all {
		b := []byte(body)
		for j, left := 0, i; j < 6; j, left = j+1, left/32 {
			b[j] = set[left%32]
		}
		all[i] = string(b)
	}
	return all
}

// page fills one sheet of a stock, or its one blank.
func page(t testing.TB, stock printtemplates.Stock) (sheet.Page, []string) {
	t.Helper()
	says := texts(stock.Paper.Cells())
	var all []sheet.Drawing
	for _, text := range says {
		all = append(all, drawing(t, stock, text))
	}
	pages, err := sheet.Compose(stock, all, 0)
	if err != nil {
		t.Fatal(err)
	}
	if len(pages) != 1 {
		t.Fatalf("%d pages", len(pages))
	}
	return pages[0], says
}

// sheets are the stocks that are printed many on a page.
func sheets(t testing.TB) []printtemplates.Stock {
	t.Helper()
	all := slices.DeleteFunc(stocks(t), func(s printtemplates.Stock) bool {
		return s.Paper.Cells() < 2 || s.Symbol.Side == 0
	})
	if len(all) == 0 {
		t.Fatal("no stock is printed many on a page")
	}
	return all
}

// Every symbol of a sheet of many is on whole dots of its own, in its place.
func TestSheetOfManyOnWholeDots(t *testing.T) {
	for _, stock := range sheets(t) {
		p, _ := page(t, stock)
		for _, dpi := range []int{203, 300} {
			var b bytes.Buffer
			r, err := render.PNG(&b, p, dpi, render.Options{})
			if err != nil {
				t.Fatal(err)
			}
			img, err := png.Decode(&b)
			if err != nil {
				t.Fatal(err)
			}
			for _, placed := range p.Placed {
				checkModules(t, img, placed, r)
			}
		}
	}
}

// What a sheet of many says is read off all three formats, every symbol.
func TestOtherProgramsReadSheetsOfMany(t *testing.T) {
	for _, stock := range sheets(t) {
		p, says := page(t, stock)
		for format, picture := range pictures(t, p, 203) {
			got := strings.Fields(run(t, "zbarimg", "--quiet", "--raw", picture))
			if sorted(got) != sorted(says) {
				t.Errorf("%s, %s: zbarimg reads %d symbols of %d", stock.Name, format, len(got), len(says))
			}
		}
	}
}

// sorted is a list in order, as one text.
func sorted(list []string) string { return strings.Join(slices.Sorted(slices.Values(list)), " ") }

// patch is a page of one drawing without a symbol: a tinted bar with a black
// one across it, one of them running the other way round, and crop marks.
func patch(tint sheet.Tint) sheet.Page {
	bar := func(x, y, w, h quantity.Length) sheet.Path {
		return sheet.Rectangle(sheet.Rect{Min: sheet.Point{X: x, Y: y}, Max: sheet.Point{X: x + w, Y: y + h}})
	}
	const mm = quantity.Millimetre
	across := sheet.Stroke(sheet.Point{X: 15 * mm, Y: 10 * mm}, sheet.Point{X: 5 * mm, Y: 10 * mm}, 2*mm)
	return sheet.Page{
		Title: "patch", Width: 30 * mm, Height: 40 * mm,
		Placed: []sheet.Placed{{At: sheet.Point{X: 5 * mm, Y: 10 * mm}, Drawing: sheet.Drawing{
			Title: "patch", Width: 20 * mm, Height: 20 * mm, Tint: tint,
			Ink: []sheet.Area{
				{Path: bar(5*mm, 5*mm, 10*mm, 10*mm), Colour: sheet.Second},
				{Path: across}, {Path: bar(9*mm, 2*mm, 2*mm, 16*mm)},
			},
			Blank: []sheet.Path{bar(0, 0, mm/2, 20*mm)},
		}}},
		Crop: []sheet.Path{bar(1*mm, 1*mm, 3*mm, 1*mm)},
	}
}

// Each format puts a drawing in its place on the page, the second colour under
// the black, and fills where two areas cross.
func TestColoursAndPlaces(t *testing.T) {
	tint := sheet.Tint{R: 0x3d, G: 0xb3, B: 0x5a}
	const dpi = 254 // ten dots a millimetre
	spots := map[string]struct {
		x, y int // in tenths of a millimetre
		want color.RGBA
	}{
		"crop mark":          {25, 15, color.RGBA{A: 255}},
		"paper":              {25, 100, color.RGBA{255, 255, 255, 255}},
		"second colour":      {120, 170, color.RGBA{tint.R, tint.G, tint.B, 255}},
		"bar over it":        {120, 200, color.RGBA{A: 255}},
		"where bars cross":   {150, 200, color.RGBA{A: 255}},
		"bar beyond it":      {150, 130, color.RGBA{A: 255}},
		"edge, not on order": {52, 200, color.RGBA{255, 255, 255, 255}},
	}
	for format, path := range pictures(t, patch(tint), dpi) {
		f, err := os.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		img, _, err := image.Decode(f)
		if err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
		for name, spot := range spots {
			if got := color.RGBAModel.Convert(img.At(spot.x, spot.y)); got != spot.want {
				t.Errorf("%s: %s is %v, want %v", format, name, got, spot.want)
			}
		}
	}
}

// Tags of two periods on one sheet keep their colours apart.
func TestSVGTints(t *testing.T) {
	p := patch(sheet.Tint{R: 1})
	other := patch(sheet.Tint{G: 2}).Placed[0]
	p.Placed = append(p.Placed, other, p.Placed[0])
	var b bytes.Buffer
	if err := render.SVG(&b, p, render.Options{}); err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Paths []struct {
			ID   string `xml:"id,attr"`
			Fill string `xml:"fill,attr"`
		} `xml:"path"`
	}
	if err := xml.Unmarshal(b.Bytes(), &doc); err != nil {
		t.Fatal(err)
	}
	if got, want := fmt.Sprint(doc.Paths), "[{second #010000} {second-2 #000200} {black #000000}]"; got != want {
		t.Errorf("paths %s, want %s", got, want)
	}
}

// A picture has as many dots as are drawn at most, and one more is refused with
// the figure.
func TestPNGIsBounded(t *testing.T) {
	p := sheet.Page{Title: "large", Width: 10 * quantity.Inch, Height: 10 * quantity.Inch}
	if _, err := render.PNG(io.Discard, p, 632, render.Options{}); err != nil { // 39,942,400
		t.Error(err)
	}
	_, err := render.PNG(io.Discard, p, 633, render.Options{})
	if !errors.Is(err, render.ErrDPI) || !strings.Contains(err.Error(), "6330 × 6330 = 40068900 dots, at most 40000000") {
		t.Errorf("error %v", err)
	}
	// The largest paper at the finest resolution of a usual printer.
	a4 := sheet.Page{Title: "A4", Width: 210 * quantity.Millimetre, Height: 297 * quantity.Millimetre}
	if _, err := render.PNG(io.Discard, a4, 600, render.Options{}); err != nil {
		t.Error(err)
	}
}

// The size error of the symbol that came out worst is said.
func TestRasterSaysTheWorst(t *testing.T) {
	s, err := symbol.Encode(body)
	if err != nil {
		t.Fatal(err)
	}
	at := func(module quantity.Length) sheet.Placed {
		return sheet.Placed{Drawing: sheet.Drawing{Symbol: sheet.Symbol{Symbol: s, Module: module, Smallest: 300}}}
	}
	// At 254 dots an inch a dot is 100 µm.
	p := sheet.Page{Width: 100 * quantity.Millimetre, Height: 100 * quantity.Millimetre, Placed: []sheet.Placed{at(500), at(590), at(610)}}
	r, err := render.PNG(io.Discard, p, 254, render.Options{})
	if want := (render.Raster{DPI: 254, Dots: 5, Module: 500, Wanted: 590, Short: 90 * symbol.Modules}); err != nil || r != want {
		t.Errorf("raster %+v, %v, want %+v", r, err, want)
	}
	r, err = render.PNG(io.Discard, sheet.Page{Width: 1000, Height: 1000}, 254, render.Options{})
	if want := (render.Raster{DPI: 254}); err != nil || r != want {
		t.Errorf("without a symbol: raster %+v, %v", r, err)
	}
}

// pictures draws a page in every format, as pictures: our own, and SVG and
// PDF as other programs draw them.
func pictures(t *testing.T, p sheet.Page, dpi int) map[string]string {
	t.Helper()
	dir := t.TempDir()
	file := func(name string, draw func(io.Writer) error) string {
		var b bytes.Buffer
		if err := draw(&b); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	var o render.Options
	all := map[string]string{"SVG": filepath.Join(dir, "svg.png"), "PDF": filepath.Join(dir, "pdf.png")}
	all["PNG"] = file("own.png", func(w io.Writer) error { _, err := render.PNG(w, p, dpi, o); return err })
	svg := file("own.svg", func(w io.Writer) error { return render.SVG(w, p, o) })
	dots := strconv.Itoa(dpi)
	run(t, "rsvg-convert", "-d", dots, "-p", dots, "-b", "white", "-o", all["SVG"], svg)
	pdf := file("own.pdf", func(w io.Writer) error {
		doc := render.NewPDF(w, o)
		return errors.Join(doc.Add(p), doc.Close())
	})
	run(t, "pdftoppm", "-r", dots, "-png", "-singlefile", pdf, filepath.Join(dir, "pdf"))
	return all
}
