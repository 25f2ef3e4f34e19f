package sheet_test

import (
	"errors"
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

const cardType = 3 * quantity.Millimetre

func boxOf(x0, y0, x1, y1 quantity.Length) sheet.Rect {
	return sheet.Rect{Min: sheet.Point{X: x0, Y: y0}, Max: sheet.Point{X: x1, Y: y1}}
}

func TestBuilderRefuses(t *testing.T) {
	label := func(text string, room quantity.Length) func(*sheet.Builder) {
		return func(b *sheet.Builder) {
			b.Label(sheet.Label{String: text, Size: cardType, Smallest: 2_000, At: sheet.Point{X: 5_000, Y: 10_000}, Room: room})
		}
	}
	square := func(x, y quantity.Length) func(*sheet.Builder) {
		return func(b *sheet.Builder) {
			b.Figure("square", boxOf(x, y, x+10_000, y+10_000), sheet.Rectangle(boxOf(x, y, x+10_000, y+10_000)))
		}
	}
	rule := func(x quantity.Length) func(*sheet.Builder) {
		return func(b *sheet.Builder) { b.Rule(boxOf(x, 9_000, 48_000, 9_200)) }
	}
	for _, c := range []struct {
		name   string
		do     []func(*sheet.Builder)
		want   error
		figure string
	}{
		{"fits", []func(*sheet.Builder){label("MMMM", 20_000)}, nil, ""},
		{"shrinks to the smallest", []func(*sheet.Builder){label("MMMM", 7_000)}, nil, ""},
		{"longer than its room", []func(*sheet.Builder){label("MMMM", 6_500)}, sheet.ErrFit, "in its smallest type of 2 mm and has 6.5 mm"},
		{"no such letter", []func(*sheet.Builder){label("⌀", 20_000)}, sheet.ErrGlyph, "U+2300"},
		{"a no-break space is a space", []func(*sheet.Builder){label("3\u00a0mm", 20_000)}, nil, ""},
		{"figures side by side", []func(*sheet.Builder){square(2_000, 2_000), square(12_000, 2_000)}, nil, ""},
		{"figures overlap", []func(*sheet.Builder){square(2_000, 2_000), square(11_999, 2_000)}, sheet.ErrOverlap, "0.001 mm inside"},
		{"at the margin", []func(*sheet.Builder){square(38_000, 2_000)}, nil, ""},
		{"in the margin", []func(*sheet.Builder){square(38_001, 2_000)}, sheet.ErrEdge, "by 0.001 mm"},
		{"text on a figure", []func(*sheet.Builder){square(2_000, 2_000), label("MM", 20_000)}, sheet.ErrOverlap, `"MM" lies`},
		{"rules may touch", []func(*sheet.Builder){func(b *sheet.Builder) { b.Frame(boxOf(2_000, 2_000, 48_000, 28_000), 200) }}, nil, ""},
		{"text on a rule", []func(*sheet.Builder){rule(2_000), label("MM", 20_000)}, sheet.ErrOverlap, "inside a rule"},
		{"rule at the margin", []func(*sheet.Builder){rule(2_000)}, nil, ""},
		{"rule in the margin", []func(*sheet.Builder){rule(1_999)}, sheet.ErrEdge, "by 0.001 mm"},
		{"path out of its figure", []func(*sheet.Builder){func(b *sheet.Builder) {
			b.Figure("arrow", boxOf(5_000, 5_000, 10_000, 10_000), sheet.Rectangle(boxOf(5_000, 5_000, 10_001, 10_000)))
		}}, sheet.ErrOverlap, "arrow reaches 0.001 mm"},
		{"the first error stays", []func(*sheet.Builder){label("⌀", 20_000), square(49_000, 2_000)}, sheet.ErrGlyph, ""},
	} {
		b := sheet.NewBuilder("card", 50_000, 30_000, 2_000)
		for _, do := range c.do {
			do(b)
		}
		d, err := b.Drawing()
		if !errors.Is(err, c.want) || err != nil && !strings.Contains(err.Error(), c.figure) {
			t.Errorf("%s: %v, want %v with %q", c.name, err, c.want, c.figure)
		}
		if err != nil && (d.Width != 0 || len(d.Texts)+len(d.Ink) > 0) {
			t.Errorf("%s: refused, and drawn all the same", c.name)
		}
	}
}

// A paragraph takes the largest type in which it fits, and never a smaller one
// than it may.
func TestParagraph(t *testing.T) {
	const text = "never stands in for the maker's rating tag of 12,300\u00a0lb"
	draw := func(width, height quantity.Length) (sheet.Drawing, quantity.Length, error) {
		b := sheet.NewBuilder("card", 100_000, 60_000, 2_000)
		used := b.Paragraph(sheet.Paragraph{String: text, Size: 4_000, Smallest: 2_000, Box: boxOf(5_000, 5_000, 5_000+width, 5_000+height)})
		d, err := b.Drawing()
		return d, used, err
	}
	var sizes []quantity.Length
	refused := false
	for height := quantity.Length(50_000); height >= 1_000; height -= 500 {
		d, used, err := draw(40_000, height)
		if err != nil {
			refused = true
			if !errors.Is(err, sheet.ErrFit) || !strings.Contains(err.Error(), height.String()) {
				t.Errorf("height %s: %v", height, err)
			}
			continue
		}
		size := d.Texts[0].Size
		if refused || used > height || size < 2_000 || len(sizes) > 0 && size > sizes[len(sizes)-1] {
			t.Errorf("height %s: takes %s in type of %s", height, used, size)
		}
		sizes = append(sizes, size)
		var lines []string
		for _, line := range d.Texts {
			if line.Width > 40_000 || line.Ink.Max.Y > 5_000+used || line.Ink.Min.Y < 5_000 {
				t.Errorf("height %s: %q lies outside its box", height, line.String)
			}
			lines = append(lines, line.String)
		}
		all := strings.Join(lines, "|")
		if strings.ReplaceAll(all, "|", " ") != strings.ReplaceAll(text, "\u00a0", " ") || strings.Contains(all, "12,300|lb") {
			t.Errorf("height %s: broken into %q", height, all)
		}
	}
	if !refused || sizes[0] != 4_000 || sizes[len(sizes)-1] > 2_500 {
		t.Errorf("sizes %v, refused at last: %t", sizes, refused)
	}
	if _, _, err := draw(5_000, 50_000); !errors.Is(err, sheet.ErrFit) {
		t.Errorf("a word longer than its line: %v", err)
	}
}

func TestBuilderAligns(t *testing.T) {
	for align, want := range map[printtemplates.Align]func(text sheet.Text) bool{
		printtemplates.Left:   func(x sheet.Text) bool { return x.At.X == 25_000 },
		printtemplates.Middle: func(x sheet.Text) bool { return x.At.X == 25_000-x.Width/2 },
		printtemplates.Right:  func(x sheet.Text) bool { return x.At.X == 25_000-x.Width },
	} {
		b := sheet.NewBuilder("card", 50_000, 30_000, 2_000)
		b.Label(sheet.Label{String: "CS-0417", Size: cardType, Smallest: cardType, At: sheet.Point{X: 25_000, Y: 10_000}, Align: align, Room: 20_000})
		d, err := b.Drawing()
		if err != nil || !want(d.Texts[0]) {
			t.Errorf("align %d: %v, %+v", align, err, d.Texts)
		}
	}
}

// A stroke is as long and as wide as it says, whatever way it runs.
func TestStroke(t *testing.T) {
	from := sheet.Point{X: 10_000, Y: 10_000}
	for _, to := range []sheet.Point{{X: 20_000, Y: 10_000}, {X: 10_000, Y: 20_000}, {X: 4_000, Y: 2_000}} {
		p := sheet.Stroke(from, to, 500)
		if len(p) != 4 {
			t.Fatalf("%d corners", len(p))
		}
		apart := func(i, j int) float64 {
			a, b := p[i].To[0], p[j].To[0]
			return float64((a.X-b.X)*(a.X-b.X) + (a.Y-b.Y)*(a.Y-b.Y))
		}
		for i, want := range []float64{500 * 500, 1e8, 500 * 500, 1e8} {
			if got := apart(i, (i+1)%4); got < want*0.99 || got > want*1.01 {
				t.Errorf("to %v: side %d squared is %g, want %g", to, i, got, want)
			}
		}
	}
	if sheet.Stroke(from, from, 500) != nil {
		t.Error("a stroke without a length is drawn")
	}
}
