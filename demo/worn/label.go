package worn

import (
	"bytes"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"math"
	"math/rand/v2"
	"strings"
	"sync"

	"cribgate/core/tagcode"
	"cribgate/labeler/print"
	"cribgate/labeler/render"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

// prefix is what some cribs put before the text; it makes another symbol (level Q).
const prefix = "HTTPS://CRIB.EXAMPLE/T/"

// A clean is a print as it left the labeler.
type clean struct {
	text   string
	grey   *image.Gray
	round  bool    // the blank is a disc
	cx, cy float64 // middle of the symbol, in pixels
	dots   float64 // pixels to a module
}

// A label is a print on its blank, which may be worn.
type label struct {
	clean
	face  *plane
	cover *plane // 1 where the blank is, 0 where it is not
}

// place takes modules from the symbol's middle to pixels of the face.
func (l *label) place(u, v float64) (x, y float64) { return l.cx + u*l.dots, l.cy + v*l.dots }

// zeros is a source of one key, the same for every invented crib of this package.
type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// line is an invented sling as the labeler takes it.
func line(number, serial int) string {
	return fmt.Sprintf(`{"id":"WT-%05d","serial":%d,"outcome":"fit","system":"us","grade":80,"size":"3/8","legs":2,"reach_mm":2400,"adjustable":false,`+
		`"stamped":[{"legs":2,"basis":"h60","load_lb":12300}],"rating_tag":"legible","state":"in","inspected":"2025-11-10","due":"2026-11-10"}`, number, serial)
}

// tags are invented tags with the numbers from first on.
func tags(key tagcode.Key, prefix string, first, n, serial int) ([]print.Tag, error) {
	var lines strings.Builder
	for i := range n {
		lines.WriteString(line(first+i, serial) + "\n")
	}
	return print.ReadLines(strings.NewReader(lines.String()), key, prefix)
}

// Shown is how many tags the scenes of one Maker show.
const Shown = 48

// A press prints the tags of a Maker, each when it is asked for first.
type press struct {
	once  sync.Once
	clean clean
	err   error
}

// label is a tag of chance, as it left the labeler.
func (m *Maker) label(r *rand.Rand) (*label, error) {
	i := r.IntN(Shown)
	p := &m.presses[i]
	p.once.Do(func() { p.clean, p.err = m.print(i) })
	if p.err != nil {
		return nil, p.err
	}
	l := &label{clean: p.clean}
	l.blank()
	return l, nil
}

// tag is the tag of an invented sling that scenes show; one of three has a prefix.
func (m *Maker) tag(i int) (print.Tag, error) {
	r := rand.New(rand.NewPCG(m.seed, uint64(i)))
	before := ""
	if i%3 == 0 {
		before = prefix
	}
	made, err := tags(m.key, before, r.IntN(firstLive), 1, 1+r.IntN(9))
	if err != nil {
		return print.Tag{}, err
	}
	return made[0], nil
}

// print prints such a tag on one of the stocks.
func (m *Maker) print(i int) (clean, error) {
	tag, err := m.tag(i)
	if err != nil {
		return clean{}, err
	}
	stock := m.stocks[i%len(m.stocks)]
	job := print.Job{Stock: stock}
	if stock.Period.Width > 0 {
		colours := printtemplates.Colours()
		job.Period = colours[i%len(colours)]
	}
	_, drawing, err := job.Draw(tag)
	if err != nil {
		return clean{}, err
	}
	// Seven dots to a module, hardly smaller than it is laid out.
	module := drawing.Symbol.Module.Micrometres()
	dpi := int(math.Ceil(7 * 25_400 / float64(module)))
	var file bytes.Buffer
	raster, err := render.PNG(&file, drawing.Page(), dpi, render.Options{})
	if err != nil {
		return clean{}, err
	}
	picture, err := png.Decode(&file)
	if err != nil {
		return clean{}, err
	}
	pixels := func(um int64) float64 { return float64(um) * float64(dpi) / 25_400 }
	c := clean{text: tag.Sealed.Text(), dots: float64(raster.Dots), round: stock.Round}
	c.cx = pixels(drawing.Symbol.At.X.Micrometres() + module*symbol.Modules/2)
	c.cy = pixels(drawing.Symbol.At.Y.Micrometres() + module*symbol.Modules/2)
	c.grey = image.NewGray(image.Rect(0, 0, picture.Bounds().Dx(), picture.Bounds().Dy()))
	draw.Draw(c.grey, c.grey.Rect, picture, picture.Bounds().Min, draw.Src)
	return c, nil
}

// blank is the print as light: ink sends back 4 in 100, the blank 82 (no source).
func (l *label) blank() {
	var curve [256]float32
	for i := range curve {
		curve[i] = float32(0.04 + 0.78*math.Pow(float64(i)/255, 2.2))
	}
	w, h := l.grey.Rect.Dx(), l.grey.Rect.Dy()
	l.face, l.cover = newPlane(w, h), newPlane(w, h)
	for y := range h {
		dy := float64(2*y+1)/float64(h) - 1
		for x, v := range l.grey.Pix[y*l.grey.Stride:][:w] {
			l.face.pix[y*w+x] = curve[v]
			if dx := float64(2*x+1)/float64(w) - 1; !l.round || dx*dx+dy*dy < 1 {
				l.cover.pix[y*w+x] = 1
			}
		}
	}
}
