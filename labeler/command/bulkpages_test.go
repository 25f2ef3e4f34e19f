package command_test

import (
	"bytes"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"

	"cribgate/core/quantity"
	"cribgate/core/required"
	"cribgate/core/tagcode"
	"cribgate/printtemplates"
)

// narrow is a stock on which a wide identification has no room.
const narrow = `{
 "format": 1, "title": "Narrow", "outline": {"shape": "rectangle", "width_um": 40000, "height_um": 45000, "corner_um": 0},
 "margin_um": 1000,
 "symbol": {"x_um": 6500, "y_um": 2000, "side_um": 27000, "quiet_zone_modules": 4, "smallest_module_um": 500},
 "fields": [
  {"text": "{id}", "x_um": 20000, "y_um": 34000, "width_um": 13000, "align": "middle", "font": "bold", "type_um": 4000, "smallest_type_um": 3000},
  {"text": "Due {due} {status}", "x_um": 20000, "y_um": 38500, "width_um": 38000, "align": "middle", "font": "regular", "type_um": 3000, "smallest_type_um": 2000},
  {"text": "{code}", "x_um": 20000, "y_um": 42500, "width_um": 38000, "align": "middle", "font": "regular", "type_um": 3000, "smallest_type_um": 2000}
 ]
}`

// A row is a line of a report.
type row struct{ what, ident, serial, code, stock, file, page, cell, note string }

func reportOf(t *testing.T, files map[string][]byte) []row {
	t.Helper()
	lines := strings.Split(strings.TrimSuffix(string(files["report.tsv"]), "\n"), "\n")
	var rows []row
	for _, line := range lines[1:] {
		f := strings.Split(line, "\t")
		if len(f) != 9 {
			t.Fatalf("a line of the report has %d fields: %q", len(f), line)
		}
		rows = append(rows, row{f[0], f[1], f[2], f[3], f[4], f[5], f[6], f[7], f[8]})
	}
	return rows
}

// checkReport holds the report against what the register has learnt in the run:
// each of its new tags is in one place, and each other sling has a reason.
func checkReport(t *testing.T, rows []row, before, after string) {
	t.Helper()
	learnt := map[string]bool{}
	for _, line := range strings.Split(after, "\n") {
		if line != "" && !strings.Contains(before, line+"\n") {
			ident, rest, _ := strings.Cut(line, " ")
			serial, rest, _ := strings.Cut(rest, " ")
			stock, _, _ := strings.Cut(rest, " ")
			learnt[ident+" "+serial+" "+stock] = true
		}
	}
	places, listed := map[string]bool{}, map[string]bool{}
	for _, r := range rows {
		if listed[r.ident] {
			t.Errorf("%s is in the report twice", r.ident)
		}
		listed[r.ident] = true
		switch tag := r.ident + " " + r.serial + " " + r.stock; {
		case r.what == "left out" && r.note != "":
		case r.what != "printed" || !learnt[tag]:
			t.Errorf("%+v: the register did not learn of it", r)
		default:
			place := r.file + " " + r.page + " " + r.cell
			if places[place] {
				t.Errorf("two tags at %s", place)
			}
			places[place] = true
			delete(learnt, tag)
		}
	}
	if len(learnt) > 0 {
		t.Errorf("recorded and not in the report: %v", learnt)
	}
	if len(listed) != slings || len(places) < slings/2 {
		t.Errorf("%d slings in the report, %d of them printed; there are %d", len(listed), len(places), slings)
	}
}

// readPages reads the symbols of some tags of a report off their pages.
func readPages(t *testing.T, crib, out string, rows []row, most int) {
	t.Helper()
	known := tagsOf(t, crib)
	read := 0
	for _, r := range rows {
		if r.what != "printed" || read == most {
			continue
		}
		read++
		stock, at := placeOf(t, r)
		square := squareOf(at, stock.Symbol.Side, 203)
		data, err := os.ReadFile(filepath.Join(out, r.file))
		if err != nil {
			t.Fatal(err)
		}
		if filepath.Ext(r.file) == ".pdf" {
			// Sixteen dots a module, for a reader that wants whole ones.
			dpi := 16 * float64(quantity.Inch) * 45 / float64(stock.Symbol.Side)
			square = squareOf(at, stock.Symbol.Side, dpi)
			data = rasterised(t, filepath.Join(out, r.file), r.page, dpi, square)
			square = square.Sub(square.Min)
		}
		text, err := readSymbol(data, square)
		if err != nil {
			t.Errorf("%+v cannot be read: %v", r, err)
			continue
		}
		tag, err := tagcode.Parse(text)
		line := fmt.Sprintf("%s %s %s %x\n", r.ident, r.serial, r.stock, tagcode.Digest(text))
		if err != nil || strconv.Itoa(int(tag.Serial)) != r.serial || !strings.Contains(known, line) {
			t.Errorf("%+v reads %q, %v", r, text, err)
		}
	}
}

// placeOf gives the stock of a tag and where its symbol lies on the page.
func placeOf(t *testing.T, r row) (printtemplates.Stock, printtemplates.Point) {
	t.Helper()
	stock, err := printtemplates.Open(r.stock)
	if r.stock == "narrow" {
		stock, err = printtemplates.Parse(r.stock, []byte(narrow))
	}
	if err != nil {
		t.Fatal(err)
	}
	at := stock.Symbol.At
	if r.cell != "" {
		cell, err := strconv.Atoi(r.cell)
		if err != nil {
			t.Fatal(err)
		}
		corner := stock.Paper.Cell(cell - 1)
		at.X, at.Y = at.X+corner.X, at.Y+corner.Y
	}
	return stock, at
}

// squareOf is a square on a page as dots of its picture.
func squareOf(at printtemplates.Point, side quantity.Length, dpi float64) image.Rectangle {
	dots := func(l quantity.Length) int { return int(float64(l) * dpi / float64(quantity.Inch)) }
	return image.Rect(dots(at.X), dots(at.Y), dots(at.X+side), dots(at.Y+side))
}

// rasterised is a part of a page of a PDF as a picture.
func rasterised(t *testing.T, file, page string, dpi float64, part image.Rectangle) []byte {
	t.Helper()
	data, err := exec.Command(required.Program(t, "pdftoppm"), "-png", "-gray", "-r", fmt.Sprint(dpi), "-f", page, "-l", page, "-singlefile",
		"-x", fmt.Sprint(part.Min.X), "-y", fmt.Sprint(part.Min.Y), "-W", fmt.Sprint(part.Dx()), "-H", fmt.Sprint(part.Dy()), file).Output()
	if err != nil {
		t.Fatalf("pdftoppm %s: %v", file, err)
	}
	return data
}

// readSymbol reads the symbol in a square of a picture.
func readSymbol(data []byte, square image.Rectangle) (string, error) {
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		return "", err
	}
	cut := image.NewGray(square.Sub(square.Min))
	draw.Draw(cut, cut.Bounds(), img, square.Min, draw.Src)
	bitmap, err := gozxing.NewBinaryBitmapFromImage(cut)
	if err != nil {
		return "", err
	}
	got, err := qrcode.NewQRCodeReader().Decode(bitmap, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_PURE_BARCODE: true})
	if err != nil {
		return "", err
	}
	return got.GetText(), nil
}
