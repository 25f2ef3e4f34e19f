package render_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/core/required"
	"cribgate/labeler/render"
	"cribgate/labeler/sheet"
)

// run returns what a program prints; what it warns of goes to the test's log.
func run(t *testing.T, name string, args ...string) string {
	t.Helper()
	var out, warned bytes.Buffer
	cmd := exec.Command(required.Program(t, name), args...)
	cmd.Stdout, cmd.Stderr = &out, &warned
	if err := cmd.Run(); err != nil {
		t.Fatalf("%s %q: %v\n%s", name, args, err, warned.String())
	}
	return out.String()
}

// readers are the independent programs that read a symbol off a picture.
var readers = map[string]func(t *testing.T, picture string) string{
	"zbarimg": func(t *testing.T, picture string) string {
		return strings.TrimSuffix(run(t, "zbarimg", "--quiet", "--raw", picture), "\n")
	},
	"ZXingReader": func(t *testing.T, picture string) string {
		out := run(t, "ZXingReader", picture)
		m := regexp.MustCompile(`(?m)^Text: +"(.*)"$`).FindStringSubmatch(out)
		if m == nil {
			t.Fatalf("ZXingReader %s says %q", picture, out)
		}
		return m[1]
	},
}

func pdfOf(t testing.TB, dir string, pages ...sheet.Page) string {
	t.Helper()
	var b bytes.Buffer
	p := render.NewPDF(&b, render.Options{})
	for _, page := range pages {
		if err := p.Add(page); err != nil {
			t.Fatal(err)
		}
	}
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "tags.pdf")
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestOtherProgramsReadTheTags(t *testing.T) {
	type sample struct{ name, picture, text string }
	var samples []sample
	for i, stock := range stocks(t) {
		text := []string{body, prefix + body}[i%2]
		dpi := resolutions()[i%len(resolutions())]
		d := drawing(t, stock, text)
		if d.Symbol.Module == 0 {
			continue
		}
		for format, picture := range pictures(t, d.Page(), dpi) {
			samples = append(samples, sample{fmt.Sprintf("%s, %s at %d dpi", stock.Name, format, dpi), picture, text})
		}
	}
	for name, reader := range readers {
		t.Run(name, func(t *testing.T) {
			required.Program(t, name)
			for _, s := range samples {
				if got := reader(t, s.picture); got != s.text {
					t.Errorf("%s: read %q", s.name, got)
				}
			}
		})
	}
}

// The page is the blank or its sheet, to 0.1 mm; a document may mix stocks.
func TestPDFPageSize(t *testing.T) {
	var pages []sheet.Page
	for _, stock := range stocks(t) {
		p, _ := page(t, stock)
		pages = append(pages, p)
	}
	out := run(t, "pdfinfo", "-f", "1", "-l", strconv.Itoa(len(pages)), pdfOf(t, t.TempDir(), pages...))
	sizes := regexp.MustCompile(`Page +\d+ size: +([0-9.]+) x ([0-9.]+) pts`).FindAllStringSubmatch(out, -1)
	if len(sizes) != len(pages) {
		t.Fatalf("%d page sizes of %d in %q", len(sizes), len(pages), out)
	}
	for i, m := range sizes {
		for j, want := range []quantity.Length{pages[i].Width, pages[i].Height} {
			got, err := strconv.ParseFloat(m[j+1], 64)
			if err != nil {
				t.Fatal(err)
			}
			if mm := got * 25.4 / 72; math.Abs(mm-float64(want)/1000) > 0.1 {
				t.Errorf("page %d measures %.3f mm, want %s", i+1, mm, want)
			}
		}
	}
}

func TestPDFFontsAndText(t *testing.T) {
	var pages []sheet.Page
	for _, stock := range stocks(t) {
		pages = append(pages, drawing(t, stock, body).Page())
	}
	path := pdfOf(t, t.TempDir(), pages...)
	fonts := strings.Split(strings.TrimSpace(run(t, "pdffonts", path)), "\n")
	if len(fonts) != 4 { // two lines of heading, Go Regular and Go Bold
		t.Errorf("fonts: %q", fonts)
	}
	for _, line := range fonts[2:] {
		// emb, sub and uni: embedded, with a map back to Unicode
		if f := strings.Fields(line); !strings.Contains(line, "TrueType") || f[len(f)-5] != "yes" || f[len(f)-3] != "yes" {
			t.Errorf("font %q is not embedded with its Unicode map", line)
		}
	}
	// Every line of every tag can be found and selected as it was laid out.
	for i, p := range pages {
		n := strconv.Itoa(i + 1)
		text := words(run(t, "pdftotext", "-raw", "-f", n, "-l", n, path, "-"))
		for _, line := range p.Placed[0].Texts {
			if !strings.Contains(text, words(line.String)) {
				t.Errorf("page %s: %q is not found in %q", n, line.String, text)
			}
		}
	}
	run(t, "qpdf", "--check", path)
}

// A document is called by its first and its last drawing.
func TestPDFTitle(t *testing.T) {
	titled := func(title string) sheet.Page {
		p := patch(sheet.Tint{})
		p.Placed[0].Title = title
		return p
	}
	for _, c := range []struct {
		pages []sheet.Page
		want  string
	}{
		{[]sheet.Page{titled("CS-1 (a)")}, "CS-1 (a)"},
		{[]sheet.Page{titled("CS-1"), titled("CS-2"), titled("CS-3")}, "CS-1 to CS-3"},
		{[]sheet.Page{{Title: "bare", Width: 1000, Height: 1000}}, "bare"},
	} {
		out := run(t, "pdfinfo", pdfOf(t, t.TempDir(), c.pages...))
		if m := regexp.MustCompile(`(?m)^Title: +(.*)$`).FindStringSubmatch(out); m == nil || m[1] != c.want {
			t.Errorf("called %q, want %q", m, c.want)
		}
	}
}

// words drops what spaces there are too many between words.
func words(s string) string { return strings.Join(strings.Fields(s), " ") }

// All formats put the same ink in the same place: pictures of SVG, PDF and DXF,
// drawn by other programs, differ from our own at edges only.
func TestFormatsAgree(t *testing.T) {
	const dpi, near = 300, 2 // 0.17 mm; the symbol's whole dots take half a dot
	dir := t.TempDir()
	drawn := map[string]map[string]string{}
	var files []string
	for _, stock := range stocks(t) {
		p := drawing(t, stock, body).Page()
		drawn[stock.Name] = pictures(t, p, dpi)
		name := filepath.Join(dir, stock.Name+".dxf")
		if err := os.WriteFile(name, []byte(dxfOf(t, p, render.Options{})), 0o644); err != nil {
			t.Fatal(err)
		}
		files = append(files, name)
	}
	filled(t, files...)
	for name, all := range drawn {
		all["DXF"] = filepath.Join(dir, name+".png")
		run(t, "rsvg-convert", "-d", strconv.Itoa(dpi), "-p", strconv.Itoa(dpi), "-b", "white", "-o", all["DXF"], filepath.Join(dir, name+".svg"))
		own := load(t, all["PNG"])
		for _, format := range []string{"SVG", "PDF", "DXF"} {
			img := load(t, all[format])
			for what, n := range map[string]int{
				"missing in": own.without(img, near), "only in": img.without(own, near),
			} {
				if n > 0 {
					t.Errorf("%s: %d inked dots are %s the %s", name, n, what, format)
				}
			}
		}
	}
}
