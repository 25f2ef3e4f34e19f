package card

import (
	"bytes"
	"flag"
	"fmt"
	"image"
	"image/color"
	_ "image/png"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/labeler/render"
	"cribgate/labeler/sheet"
)

const dpi = 600

var rounds = flag.Int("rounds", 1, "sizes whose SVG and PNG are measured too; every size's PDF is")

// A rendering is a page as another program draws it, 600 dots to the inch.
type rendering struct{ image.Image }

func load(t *testing.T, path string) rendering {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if filepath.Ext(path) == ".pgm" {
		// The header of a portable graymap: P5, width, height, 255, one blank.
		var width, height, most int
		if _, err := fmt.Sscanf(string(data[:min(64, len(data))]), "P5\n%d %d\n%d\n", &width, &height, &most); err != nil || most != 255 {
			t.Fatalf("%s: not a graymap: %v", path, err)
		}
		return rendering{&image.Gray{Pix: data[len(data)-width*height:], Stride: width, Rect: image.Rect(0, 0, width, height)}}
	}
	img, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return rendering{img}
}

// ink is how black a dot is, 0 to 1.
func (r rendering) ink(x, y int) float64 {
	return 1 - float64(color.GrayModel.Convert(r.At(x, y)).(color.Gray).Y)/255
}

func ofPDF(t *testing.T, d sheet.Drawing) rendering {
	t.Helper()
	pdf := pdfOf(t, d)
	run(t, "pdftoppm", "-r", strconv.Itoa(dpi), "-gray", "-singlefile", pdf, strings.TrimSuffix(pdf, ".pdf"))
	return load(t, strings.TrimSuffix(pdf, ".pdf")+".pgm")
}

func ofSVG(t *testing.T, d sheet.Drawing) rendering {
	t.Helper()
	svg := fileOf(t, "card.svg", func(f *os.File) error { return render.SVG(f, d.Page(), render.Options{}) })
	drawn := filepath.Join(t.TempDir(), "svg.png")
	run(t, "rsvg-convert", "-d", strconv.Itoa(dpi), "-p", strconv.Itoa(dpi), "-b", "white", "-o", drawn, svg)
	return load(t, drawn)
}

func ofPNG(t *testing.T, d sheet.Drawing) rendering {
	t.Helper()
	return load(t, fileOf(t, "card.png", func(f *os.File) error {
		_, err := render.PNG(f, d.Page(), dpi, render.Options{})
		return err
	}))
}

func dots(l quantity.Length) float64 { return float64(l) * dpi / float64(quantity.Inch) }

// black is how much of a row of dots is black, from one place to another, in
// dots: grey at an edge counts by its share.
func (r rendering) black(from, to, y quantity.Length) float64 {
	row, sum := int(dots(y)), 0.0
	for x := int(math.Round(dots(from))); x < int(math.Round(dots(to))); x++ {
		sum += r.ink(x, row)
	}
	return sum
}

// upright is black along a column.
func (r rendering) upright(x, from, to quantity.Length) float64 {
	column, sum := int(dots(x)), 0.0
	for y := int(math.Round(dots(from))); y < int(math.Round(dots(to))); y++ {
		sum += r.ink(column, y)
	}
	return sum
}

// edgeRight is where what is black at a place ends, looking right; edgeLeft
// where it begins, looking left. Both in dots.
func (r rendering) edgeRight(inside, outside, y quantity.Length) float64 {
	return math.Round(dots(inside)) + r.black(inside, outside, y)
}

func (r rendering) edgeLeft(outside, inside, y quantity.Length) float64 {
	return math.Round(dots(inside)) - r.black(outside, inside, y)
}

// Programs that smooth edges tell a quarter of a dot.
const grain = 0.3

// Every true figure of every size is measured on the page as other programs draw
// it, against the published figure: within a dot of 600 to the inch, and not on
// the side that would let a worn or stretched chain go.
func TestGaugeMeasuredOnThePage(t *testing.T) {
	for i, c := range published {
		t.Run(c.system.String()+" "+c.size, func(t *testing.T) {
			g := gaugeFor(t, c.system, c.size)
			d, err := g.Draw()
			if err != nil {
				t.Fatal(err)
			}
			all := map[string]rendering{"PDF": ofPDF(t, d)}
			if every := len(published) / *rounds; i%max(1, every) == 3%max(1, every) && g.Paper.Name != "a3" {
				all["SVG"], all["PNG"] = ofSVG(t, d), ofPNG(t, d)
			}
			for format, r := range all {
				p := g.plan()
				near := func(what string, got float64, want quantity.Length, least, most float64) {
					if off := got - dots(want); off < least || off > most {
						t.Errorf("%s: %s measures %.2f dots, want %.2f", format, what, got, dots(want))
					}
				}
				bars := []quantity.Length{100 * mm, 100 * mm, 101_600}
				for i, bar := range p.bars {
					got := r.black(bar.Min.X-2*mm, bar.Max.X+2*mm, bar.Min.Y+barWidth/2)
					if i == 1 {
						got = r.upright(bar.Min.X+barWidth/2, bar.Min.Y-500, bar.Max.Y+2*mm)
					}
					near("bar "+barName(i), got, bars[i], -1, 1)
				}
				for i, least := range []quantity.Length{c.mean, c.b309} {
					slot := p.slots[i]
					y := (slot.Min.Y + slot.Max.Y) / 2
					near(fmt.Sprintf("slot %d", i+1), r.black(slot.Min.X-3*mm, slot.Max.X+3*mm, y), least, -grain, 1)
				}
				y := p.lane.Max.Y - mm
				start := r.edgeRight(runLeft-mm, runLeft+mm, y)
				for i, step := range growth {
					most := c.pitch * quantity.Length(g.Links) * step.perMille / 1000
					at := runLeft + most
					run := r.edgeLeft(at-400, at+lineWidth/2, y) - start
					near(fmt.Sprintf("line %d", i+1), run, most, -1, grain)
				}
			}
		})
	}
}

// An engraver gets the true figures to the micrometre.
func TestGaugeInDXF(t *testing.T) {
	g := gaugeFor(t, rating.US, "3/8")
	d, err := g.Draw()
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := render.DXF(&b, d.Page(), render.Options{}); err != nil {
		t.Fatal(err)
	}
	outlines := map[string]int{} // by width and height
	for _, line := range strings.Split(b.String(), "POLYLINE")[1:] {
		box := [2][2]float64{{math.Inf(1), math.Inf(1)}, {math.Inf(-1), math.Inf(-1)}}
		for _, vertex := range strings.Split(line, "VERTEX")[1:] {
			m := regexp.MustCompile(`\n\s*10\r?\n\s*([0-9.-]+)\r?\n\s*20\r?\n\s*([0-9.-]+)`).FindStringSubmatch(vertex)
			if m == nil {
				t.Fatalf("no place in vertex %q", vertex)
			}
			for axis := range 2 {
				v, err := strconv.ParseFloat(m[axis+1], 64)
				if err != nil {
					t.Fatal(err)
				}
				box[0][axis], box[1][axis] = min(box[0][axis], v), max(box[1][axis], v)
			}
		}
		outlines[fmt.Sprintf("%.3f × %.3f", box[1][0]-box[0][0], box[1][1]-box[0][1])]++
	}
	// Slots as deep as 1.2 × size + 1 mm, the bars of 100 mm and 4 in.
	for _, want := range []string{"9.000 × 13.000", "8.690 × 13.000", "100.000 × 1.000", "1.000 × 100.000", "101.600 × 1.000"} {
		if outlines[want] != 1 {
			t.Errorf("%d outlines of %s mm", outlines[want], want)
		}
	}
}
