package main

import (
	"bytes"
	"flag"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/core/required"
	"cribgate/core/tagcode"
	"cribgate/kiosk/scan"
	"cribgate/labeler/print"
	"cribgate/printtemplates"
)

// output is what a program prints.
func output(t *testing.T, name string, args ...string) string {
	t.Helper()
	var warned bytes.Buffer
	cmd := exec.Command(required.Program(t, name), args...)
	cmd.Stderr = &warned
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %q: %v\n%s", name, args, err, warned.String())
	}
	return string(out)
}

// readers read a picture: ours, and two programs that know nothing of us.
var readers = []struct {
	name string
	read func(t *testing.T, picture string) string
}{
	{"kiosk", func(t *testing.T, picture string) string {
		data, err := os.ReadFile(picture)
		if err != nil {
			t.Fatal(err)
		}
		text, err := scan.Image(data)
		if err != nil {
			t.Fatal(err)
		}
		return text
	}},
	{"zbarimg", func(t *testing.T, picture string) string {
		return strings.TrimSuffix(output(t, "zbarimg", "--quiet", "--raw", picture), "\n")
	}},
	{"ZXingReader", func(t *testing.T, picture string) string {
		m := regexp.MustCompile(`(?m)^Text: +"(.*)"$`).FindStringSubmatch(output(t, "ZXingReader", picture))
		if m == nil {
			t.Fatal("it finds no text")
		}
		return m[1]
	}},
}

// pictureOf turns a file that the labeler wrote into a picture, as other
// programs draw it at a resolution.
func pictureOf(t *testing.T, file string, dpi int) string {
	t.Helper()
	dots, bare := strconv.Itoa(dpi), strings.TrimSuffix(file, filepath.Ext(file))
	picture := bare + "-" + dots
	switch filepath.Ext(file) {
	case ".png":
		return file
	case ".pdf":
		output(t, "pdftoppm", "-r", dots, "-png", "-singlefile", file, picture)
	case ".dxf":
		file = fillDXF(t, file)
		fallthrough
	case ".svg":
		output(t, "rsvg-convert", "-d", dots, "-p", dots, "-b", "white", "-o", picture+".png", file)
	}
	return picture + ".png"
}

// fillDXF fills a file's outlines with a library of others, which checks it too:
// outlines are what an engraver wants, and a picture shows areas.
func fillDXF(t *testing.T, file string) string {
	t.Helper()
	svg := strings.TrimSuffix(file, ".dxf") + ".svg"
	if _, err := os.Stat(svg); err == nil {
		return svg
	}
	for _, python := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(python, "-c", "import ezdxf").Run() == nil {
			output(t, python, "../labeler/render/testdata/dxf2svg.py", file)
			return svg
		}
	}
	required.Lacks(t, "python3-ezdxf is not installed")
	return ""
}

// A sample is a line that the labeler prints from, and what the symbol says that
// comes of it.
type sample struct{ line, prefix, says string }

// everyResolution prints each stock in each format at all resolutions. Without
// it each pair has one, in turn, so that stocks and formats meet all three.
var everyResolution = flag.Bool("every-resolution", false, "print each stock in each format at 203, 300 and 600 dpi, not at one of them in turn")

// A symbol is the same to everybody who reads it, whatever it is printed on, in
// whatever format, at whatever resolution: from the seal to the picture and back.
func TestRoundTrip(t *testing.T) {
	names, err := printtemplates.List()
	if err != nil {
		t.Fatal(err)
	}
	if len(names) < 8 {
		t.Fatalf("stocks %v: at least eight are wanted", names)
	}
	key, err := tagcode.NewKey(zeros{})
	if err != nil {
		t.Fatal(err)
	}
	for n, name := range names {
		stock, err := printtemplates.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		for i, format := range print.Formats() {
			resolutions := []int{203, 300, 600}
			if !*everyResolution {
				resolutions = resolutions[(n+i)%3:][:1]
			}
			t.Run(name+string(format), func(t *testing.T) {
				// With and without a prefix in turn: it makes another symbol.
				roundTrip(t, stock, format, resolutions, key, samples(t, stock, key, i%2 == 1))
			})
		}
	}
}

// zeros is a source of one key, the same in every test.
type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// samples are what is printed on one page of a stock: three on a sheet of many.
func samples(t *testing.T, stock printtemplates.Stock, key tagcode.Key, prefixed bool) []sample {
	t.Helper()
	var all []sample
	for i := range min(3, stock.Paper.Cells()) {
		var s sample
		switch stock.Kind {
		case printtemplates.Tag:
			if prefixed {
				s.prefix = "HTTPS://CRIB.EXAMPLE/T/"
				if len(s.prefix) != tagcode.MaxPrefix {
					t.Fatalf("the prefix has %d characters, want the most, %d", len(s.prefix), tagcode.MaxPrefix)
				}
			}
			s.line = fmt.Sprintf(`{"id":"CS-%04d","serial":%d,"outcome":"fit","system":"us","grade":80,"size":"3/8","legs":2,"reach_mm":2400,"adjustable":false,`+
				`"stamped":[{"legs":2,"basis":"h60","load_lb":12300}],"rating_tag":"legible","state":"in","inspected":"2025-11-10","due":"2026-11-10"}`, 417+i, 3+i)
			tags, err := print.ReadLines(strings.NewReader(s.line), key, s.prefix)
			if err != nil {
				t.Fatal(err)
			}
			s.says = tags[0].Sealed.Text()
		case printtemplates.Badge:
			s.line = fmt.Sprintf(`{"person":"%032x","name":"A. Rigger","crib":"Test crib","role":"rigger","badge":%d,"until":"2026-12-31"}`, 7+i, 1+i)
			badges, err := print.ReadBadges(strings.NewReader(s.line), key)
			if err != nil {
				t.Fatal(err)
			}
			s.says = badges[0].Sealed.Text()
		case printtemplates.Slip:
			s.line = slipLine(i)
			slips, err := print.ReadSlips(strings.NewReader(s.line), key)
			if err != nil {
				t.Fatal(err)
			}
			s.says = slips[0].Sealed.Text()
		default:
			t.Fatalf("nothing is known to print on a stock for a %s", stock.Kind)
		}
		all = append(all, s)
	}
	return all
}

// slipLine is a question that the gate answers with "issue".
func slipLine(i int) string {
	return fmt.Sprintf(`{"id":"CS-0417","slip":%d,"name":"A. Rigger","crib":"Test crib","what":"pump casing","now":"2026-04-01",`+
		`"sling":{"system":"us","grade":80,"size":"3/8","legs":2,"reach_mm":2400,"stamped":[{"legs":2,"basis":"h60","load_lb":12300}],`+
		`"rating_tag":"legible","state":"in","inspected":"2025-11-10","due":"2026-11-10"},`+
		`"lift":{"load_lb":10000,"legs":2,"angle":{"from":"horizontal","mdeg":50000},"centred":true,"return_by":"2026-04-03"}}`, 81+i)
}

func roundTrip(t *testing.T, stock printtemplates.Stock, format print.Format, resolutions []int, key tagcode.Key, page []sample) {
	t.Helper()
	var lines strings.Builder
	for _, s := range page {
		lines.WriteString(s.line + "\n")
	}
	write := func(dpi int) string {
		job := print.Job{Stock: stock, DPI: dpi, Out: filepath.Join(t.TempDir(), "out"+string(format))}
		if stock.Period.Width > 0 {
			job.Period = printtemplates.Yellow
		}
		_, result, err := job.WriteLines(t.Context(), strings.NewReader(lines.String()), key, page[0].prefix)
		if err != nil {
			t.Fatal(err)
		}
		if len(result.Files) != 1 {
			t.Fatalf("files %v, want one", result.Files)
		}
		return result.Files[0]
	}
	file := write(resolutions[0])
	sameBytes(t, file, write(resolutions[0]))
	for i, dpi := range resolutions {
		if format == print.PNG && i > 0 { // the others have no resolution of their own
			file = write(dpi)
		}
		cells := cut(t, pictureOf(t, file, dpi), stock, dpi, len(page))
		for _, r := range readers {
			for n, cell := range cells {
				t.Run(fmt.Sprintf("%d dpi, %s, %d", dpi, r.name, n+1), func(t *testing.T) {
					if text := r.read(t, cell); text != page[n].says {
						t.Errorf("reads %q, sealed was %q", text, page[n].says)
					}
				})
			}
		}
	}
}

// sameBytes wants two runs of one job to have written the same.
func sameBytes(t *testing.T, one, other string) {
	t.Helper()
	a, err := os.ReadFile(one)
	if err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(other)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a, b) {
		t.Errorf("the same lines gave %d bytes, and then %d others", len(a), len(b))
	}
}

// cut returns pictures of one blank each, the first n of a page.
func cut(t *testing.T, picture string, stock printtemplates.Stock, dpi, n int) []string {
	t.Helper()
	if stock.Paper.Cells() == 1 {
		return []string{picture}
	}
	f, err := os.Open(picture)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	dots := func(l quantity.Length) int { return int(int64(l) * int64(dpi) / int64(quantity.Inch)) }
	var all []string
	for i := range n {
		at := stock.Paper.Cell(i)
		box := image.Rect(dots(at.X), dots(at.Y), dots(at.X+stock.Width), dots(at.Y+stock.Height))
		one := image.NewRGBA(image.Rect(0, 0, box.Dx(), box.Dy()))
		draw.Draw(one, one.Rect, img, box.Min, draw.Src)
		var b bytes.Buffer
		if err := png.Encode(&b, one); err != nil {
			t.Fatal(err)
		}
		path := fmt.Sprintf("%s-%d.png", strings.TrimSuffix(picture, ".png"), i+1)
		if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		all = append(all, path)
	}
	return all
}
