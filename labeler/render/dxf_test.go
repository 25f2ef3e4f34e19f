package render_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/core/required"
	"cribgate/labeler/render"
	"cribgate/labeler/sheet"
)

// outline is a closed polyline of a DXF, in millimetres, y upward.
type outline struct {
	layer  string
	points [][2]float64
}

// size is how wide and high an outline is.
func (o outline) size() (w, h float64) {
	low, high := o.points[0], o.points[0]
	for _, p := range o.points {
		for i := range p {
			low[i], high[i] = min(low[i], p[i]), max(high[i], p[i])
		}
	}
	return high[0] - low[0], high[1] - low[1]
}

// readDXF reads the groups of a file strictly and returns its layers and
// outlines.
func readDXF(t *testing.T, data string) (layers []string, all []outline) {
	t.Helper()
	lines := strings.Split(strings.TrimSuffix(data, "\r\n"), "\r\n")
	if len(lines)%2 != 0 {
		t.Fatal("a code without its value")
	}
	entity := ""
	var x float64
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for i := 0; i < len(lines); i += 2 {
		code, value := lines[i], lines[i+1]
		if strings.ContainsAny(value, "\r\n") || len(value) > 255 {
			t.Fatalf("value %q", value)
		}
		last := len(all) - 1
		switch code {
		case "0":
			entity = value
			if entity == "POLYLINE" {
				all = append(all, outline{})
			}
			if entity == "SEQEND" && len(all[last].points) < 3 {
				t.Errorf("outline %d has %d points", last, len(all[last].points))
			}
		case "2":
			if entity == "LAYER" {
				layers = append(layers, value)
			}
		case "8":
			all[last].layer = value
		case "10":
			x = number(value)
		case "20":
			if entity == "VERTEX" {
				all[last].points = append(all[last].points, [2]float64{x, number(value)})
			}
		case "70":
			if entity == "POLYLINE" && value != "1" {
				t.Errorf("outline %d is not closed", last)
			}
		}
	}
	if n := len(lines); lines[n-2] != "0" || lines[n-1] != "EOF" {
		t.Error("no end")
	}
	return layers, all
}

func dxfOf(t *testing.T, p sheet.Page, o render.Options) string {
	t.Helper()
	var b bytes.Buffer
	if err := render.DXF(&b, p, o); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestDXF(t *testing.T) {
	for _, stock := range stocks(t) {
		d := drawing(t, stock, body)
		layers, all := readDXF(t, dxfOf(t, d.Page(), render.Options{}))
		count := map[string]int{}
		for _, o := range all {
			count[o.layer]++
		}
		want := "[BLACK CUT]"
		if count["SECOND"] > 0 {
			want = "[SECOND BLACK CUT]"
		}
		if fmt.Sprint(layers) != want {
			t.Errorf("%s: layers %s, want %s", stock.Name, layers, want)
		}
		if (d.Tint != sheet.Tint{}) != (count["SECOND"] > 0) || count["CUT"] > 0 {
			t.Errorf("%s: %v outlines", stock.Name, count)
		}
		if d.Symbol.Module == 0 {
			continue
		}
		// The symbol comes first on its layer. Its first outline is the finder at
		// the top left: seven modules wide, its top as far below the upper edge as
		// laid out.
		for _, o := range all {
			if o.layer != "BLACK" {
				continue
			}
			w, h := o.size()
			side := 7 * float64(d.Symbol.Module) / 1000
			left, top := math.Inf(1), math.Inf(-1)
			for _, p := range o.points {
				left, top = min(left, p[0]), max(top, p[1])
			}
			if math.Abs(w-side) > 1e-6 || math.Abs(h-side) > 1e-6 ||
				math.Abs(left-float64(d.Symbol.At.X)/1000) > 1e-6 || math.Abs(top-float64(d.Height-d.Symbol.At.Y)/1000) > 1e-6 {
				t.Errorf("%s: finder of %.3f × %.3f mm at %.3f, %.3f", stock.Name, w, h, left, top)
			}
			break
		}
	}
}

// What is cut is the edge itself: one line for the blank and one for the hole.
func TestDXFCut(t *testing.T) {
	for _, stock := range stocks(t) {
		_, all := readDXF(t, dxfOf(t, drawing(t, stock, body).Page(), render.Options{Outline: true}))
		var sizes []string
		for _, o := range all {
			if o.layer == "CUT" {
				w, h := o.size()
				sizes = append(sizes, fmt.Sprintf("%.2f × %.2f", w, h))
			}
		}
		mm := func(l quantity.Length) float64 { return float64(l) / 1000 }
		want := []string{fmt.Sprintf("%.2f × %.2f", mm(stock.Width), mm(stock.Height))}
		if hole := mm(stock.Hole.Diameter); hole > 0 {
			want = append(want, fmt.Sprintf("%.2f × %.2f", hole, hole))
		}
		if fmt.Sprint(sizes) != fmt.Sprint(want) {
			t.Errorf("%s: cut along %v, want %v", stock.Name, sizes, want)
		}
	}
}

// A title cannot add groups of its own.
func TestDXFTitle(t *testing.T) {
	p := patch(sheet.Tint{R: 1})
	p.Title = "A\r\n0\r\nEOF\r\nΩ"
	data := dxfOf(t, p, render.Options{})
	if first := `A\U+000D\U+000A0\U+000D\U+000AEOF\U+000D\U+000A\U+03A9: in millimetres`; !strings.HasPrefix(data, "999\r\n"+first+"\r\n0\r\nSECTION\r\n") {
		t.Errorf("begins %.120q", data)
	}
	readDXF(t, data)
}

// filled converts DXF files to SVG as an engraver fills them, with a library of
// others, which also checks them.
func filled(t *testing.T, files ...string) {
	t.Helper()
	for _, python := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(python, "-c", "import ezdxf").Run() != nil {
			continue
		}
		if out, err := exec.Command(python, append([]string{"testdata/dxf2svg.py"}, files...)...).CombinedOutput(); err != nil {
			t.Fatalf("dxf2svg: %v\n%s", err, out)
		}
		return
	}
	required.Lacks(t, "python3-ezdxf is not installed")
}

// Each stock as DXF, and a sheet of many, are read by other programs.
func TestOtherProgramsReadDXF(t *testing.T) {
	dir := t.TempDir()
	var files []string
	says := map[string][]string{}
	for _, stock := range stocks(t) {
		p := drawing(t, stock, body).Page()
		if len(p.Placed) == 0 || p.Placed[0].Symbol.Module == 0 {
			continue
		}
		name := filepath.Join(dir, stock.Name+".dxf")
		says[name] = []string{body}
		if stock.Name == sheets(t)[0].Name {
			p, says[name] = page(t, stock)
			p.Placed, says[name] = p.Placed[:4], says[name][:4]
		}
		if err := os.WriteFile(name, []byte(dxfOf(t, p, render.Options{Outline: true})), 0o644); err != nil {
			t.Fatal(err)
		}
		files = append(files, name)
	}
	filled(t, files...)
	for _, name := range files {
		picture := name + ".png"
		run(t, "rsvg-convert", "-d", "300", "-p", "300", "-b", "white", "-o", picture, strings.TrimSuffix(name, ".dxf")+".svg")
		want := sorted(says[name])
		if got := sorted(strings.Fields(run(t, "zbarimg", "--quiet", "--raw", picture))); got != want {
			t.Errorf("%s: zbarimg reads %q, want %q", filepath.Base(name), got, want)
		}
		if len(says[name]) == 1 {
			if got := readers["ZXingReader"](t, picture); got != want {
				t.Errorf("%s: ZXingReader reads %q", filepath.Base(name), got)
			}
		}
	}
}
