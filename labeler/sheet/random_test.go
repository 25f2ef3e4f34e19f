package sheet_test

import (
	"errors"
	"flag"
	"maps"
	"regexp"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

var rounds = flag.Int("rounds", 100, "random contents on random stocks")

// figures is what each refusal has to say: by how much.
var figures = map[error]*regexp.Regexp{
	sheet.ErrFit:      regexp.MustCompile(`needs [\d.]+ mm in its smallest type of [\d.]+ mm and has [\d.]+ mm$`),
	sheet.ErrGlyph:    regexp.MustCompile(`U\+[0-9A-F]{4,}`),
	sheet.ErrModule:   regexp.MustCompile(`: [\d.]+ mm, at least [\d.]+ mm$`),
	sheet.ErrOverlap:  regexp.MustCompile(` lies [\d.]+ mm inside `),
	sheet.ErrEdge:     regexp.MustCompile(` by [\d.]+ mm`),
	sheet.ErrYear:     regexp.MustCompile(`: \d+ is not from \d+ to \d+$`),
	sheet.ErrContrast: regexp.MustCompile(` contrast of \d+\.\d\d, at least 4\.5$`),
}

// Whatever a stock is changed to and whatever is to be printed on it: either it
// is refused with the figure, or what was laid out holds when it is drawn by
// other means: see proof.
func TestRandom(t *testing.T) {
	if err := flag.Set("rapid.checks", strconv.Itoa(*rounds)); err != nil {
		t.Fatal(err)
	}
	all := everyStock(t)
	s, err := symbol.Encode(body)
	if err != nil {
		t.Fatal(err)
	}
	drawn, refused := 0, map[error]int{}
	rapid.Check(t, func(t *rapid.T) {
		stock := rapid.SampledFrom(all).Draw(t, "stock")
		for range rapid.IntRange(0, 3).Draw(t, "changes") {
			rapid.SampledFrom(changes).Draw(t, "change").do(t, &stock)
		}
		content := randomContent(t, stock.Kind)
		content.Symbol = s
		d, err := sheet.Layout(stock, content)
		if err != nil {
			why := whyOf(err)
			if figure := figures[why]; figure == nil || !figure.MatchString(err.Error()) {
				t.Fatalf("refused without the figure: %v", err)
			}
			if d.Texts != nil || d.Ink != nil {
				t.Fatal("a drawing beside the error")
			}
			refused[why]++
			return
		}
		prove(t, stock, content, d)
		drawn++
	})
	t.Logf("%d drawn, refused: %v", drawn, refused)
	if n := len(refused); *rounds >= 100 && (drawn < *rounds/8 || n < 3) {
		t.Errorf("of %d rounds %d were drawn, and the others refused for %d reasons: this shows little", *rounds, drawn, n)
	}
}

func whyOf(err error) error {
	for why := range figures {
		if errors.Is(err, why) {
			return why
		}
	}
	return err
}

// A change makes another stock of one. Its slices are copied first.
type change struct {
	name string
	do   func(*rapid.T, *printtemplates.Stock)
}

func (c change) String() string { return c.name }

func um(t *rapid.T, low, high int, what string) quantity.Length {
	return quantity.Length(rapid.IntRange(low, high).Draw(t, what))
}

func move(t *rapid.T, p *sheet.Point, by int) {
	p.X += um(t, -by, by, "x")
	p.Y += um(t, -by, by, "y")
}

var changes = []change{
	{"size", func(t *rapid.T, s *printtemplates.Stock) {
		s.Width += um(t, -3_000, 3_000, "width")
		s.Height += um(t, -3_000, 3_000, "height")
		if s.Round {
			s.Height = s.Width
		}
	}},
	{"corner", func(t *rapid.T, s *printtemplates.Stock) { s.Corner = um(t, 0, 8_000, "corner") }},
	{"margin", func(t *rapid.T, s *printtemplates.Stock) { s.Margin = um(t, 0, 4_000, "margin") }},
	{"hole", func(t *rapid.T, s *printtemplates.Stock) {
		if s.Hole.Diameter == 0 {
			s.Hole.Centre = sheet.Point{X: s.Width / 2, Y: s.Height / 2}
		}
		s.Hole.Diameter = um(t, 500, 7_000, "hole")
		move(t, &s.Hole.Centre, 2_000)
	}},
	{"symbol", func(t *rapid.T, s *printtemplates.Stock) {
		move(t, &s.Symbol.At, 1_500)
		s.Symbol.Side = max(0, s.Symbol.Side+um(t, -9_000, 3_000, "side"))
		s.Symbol.QuietZone = rapid.IntRange(4, 7).Draw(t, "quiet zone")
	}},
	{"field", func(t *rapid.T, s *printtemplates.Stock) {
		s.Fields = append([]printtemplates.Field(nil), s.Fields...)
		f := &s.Fields[rapid.IntRange(0, len(s.Fields)-1).Draw(t, "field")]
		move(t, &f.At, 1_000)
		f.Width += um(t, -int(f.Width)/4, 3_000, "width")
		f.Size = f.Smallest + um(t, 0, 2_000, "type")
		f.Align = rapid.SampledFrom([]printtemplates.Align{f.Align, f.Align, printtemplates.Middle}).Draw(t, "align")
		f.Font = rapid.SampledFrom([]printtemplates.Font{printtemplates.Regular, printtemplates.Bold}).Draw(t, "font")
	}},
	{"colour of a field", func(t *rapid.T, s *printtemplates.Stock) {
		s.Fields = append([]printtemplates.Field(nil), s.Fields...)
		s.Fields[rapid.IntRange(0, len(s.Fields)-1).Draw(t, "field")].Second = true
		if s.Period.Width == 0 {
			s.Second = rapid.SampledFrom(printtemplates.Colours()).Draw(t, "second colour")
		}
	}},
	{"period", func(t *rapid.T, s *printtemplates.Stock) {
		if s.Period.Width == 0 {
			s.Period = printtemplates.Box{At: sheet.Point{X: s.Width * 2 / 3, Y: s.Height / 2}, Width: um(t, 1_000, int(s.Width/4), "width"), Height: 4_000}
			s.Second = printtemplates.NoColour
			move(t, &s.Period.At, int(s.Height/3))
		}
		move(t, &s.Period.At, 1_500)
		s.Period.Height = max(1_000, s.Period.Height+um(t, -1_500, 1_500, "height"))
	}},
	{"line", func(t *rapid.T, s *printtemplates.Stock) {
		at := sheet.Point{X: s.Width / 3, Y: s.Height / 3}
		move(t, &at, int(s.Height/3))
		s.Lines = append([]printtemplates.Line{{Box: printtemplates.Box{At: at, Width: um(t, 100, 9_000, "width"), Height: 200}}}, s.Lines...)
	}},
	{"clear", func(t *rapid.T, s *printtemplates.Stock) {
		at := sheet.Point{X: s.Width / 2, Y: s.Height / 2}
		move(t, &at, int(s.Height/2))
		s.Clear = append([]printtemplates.Clear{{What: "rivet", Box: printtemplates.Box{At: at, Width: um(t, 100, 4_000, "width"), Height: 2_000}}}, s.Clear...)
	}},
	{"marks", func(t *rapid.T, s *printtemplates.Stock) {
		s.Marks.Ring += um(t, -300, 700, "ring")
		s.Marks.Size += um(t, 0, 500, "type")
		s.Marks.Months = append([]printtemplates.Mark(nil), s.Marks.Months...)
		if len(s.Marks.Months) > 0 {
			move(t, &s.Marks.Months[rapid.IntRange(0, 11).Draw(t, "month")].Ring, 800)
		}
	}},
}

// randomContent says anything of a kind, now and then with a letter that the
// fonts lack or a year that has no mark.
func randomContent(t *rapid.T, k printtemplates.Kind) sheet.Content {
	c := sheet.Content{Kind: k, Facts: map[printtemplates.Word]string{}}
	likely := map[printtemplates.Word]*rapid.Generator[string]{
		printtemplates.ID:        rapid.StringMatching(`[A-Z0-9]([A-Z0-9./-]{0,14}[A-Z0-9])?`),
		printtemplates.Size:      rapid.SampledFrom([]string{"3/8 in", "1-1/4 in", "10 mm"}),
		printtemplates.Grade:     rapid.SampledFrom([]string{"Grade 80", "Grade 100"}),
		printtemplates.Legs:      rapid.SampledFrom([]string{"1 leg", "4 legs"}),
		printtemplates.Reach:     rapid.SampledFrom([]string{"2.4 m", "429 ft 11 1/2 in", ""}),
		printtemplates.LoadName:  rapid.SampledFrom([]string{"Rated load", "WLL"}),
		printtemplates.Load:      rapid.SampledFrom([]string{"4.25 t", "262,143 lb"}),
		printtemplates.Angle:     rapid.SampledFrom([]string{"at 60° from horizontal", "45° to 60° from vertical"}),
		printtemplates.Inspected: rapid.SampledFrom([]string{"Nov 2025", "not recorded"}),
		printtemplates.Code:      rapid.StringMatching(`[0-9A-Z]{3}-[0-9A-Z]{3}-[0-9A-Z]{3}`),
		printtemplates.Status:    rapid.SampledFrom([]string{"HELD: not for use", "NO DUE DATE"}),
	}
	anything := rapid.StringMatching(`[A-Za-z0-9]([A-Za-z0-9 .,]|[°½éß]){0,24}[A-Za-z0-9]`)
	for _, w := range k.Words() {
		gen := likely[w]
		if gen == nil || rapid.IntRange(0, 15).Draw(t, "odd") == 0 {
			gen = anything
		}
		c.Facts[w] = gen.Draw(t, string(w))
	}
	if rapid.IntRange(0, 30).Draw(t, "strange letter") == 0 {
		c.Facts[printtemplates.Code] = "A⌀1"
	}
	if k == printtemplates.Tag && rapid.IntRange(0, 3).Draw(t, "stays in") > 0 {
		delete(c.Facts, printtemplates.Status)
		c.FirstYear = rapid.IntRange(2000, 2100).Draw(t, "first year")
		due, ok := quantity.NewDate(c.FirstYear+rapid.IntRange(0, 3).Draw(t, "year")-rapid.SampledFrom([]int{0, 0, 0, 0, 0, 0, 1}).Draw(t, "early"), rapid.IntRange(1, 12).Draw(t, "month"), 28)
		if !ok {
			t.Fatal("no such day")
		}
		c.Due = due
	}
	if k == printtemplates.Tag {
		c.Period = rapid.SampledFrom(append(printtemplates.Colours(), printtemplates.NoColour)).Draw(t, "period")
	}
	return c
}

// wanted is what the fields come to, in their order, said once more without the
// layout.
func wanted(stock printtemplates.Stock, c sheet.Content) (texts []string, fields []printtemplates.Field) {
	facts := maps.Clone(c.Facts)
	facts[printtemplates.Due] = ""
	if !c.Due.IsZero() {
		facts[printtemplates.Due] = c.Due.Long()
	}
	facts[printtemplates.Period] = map[printtemplates.Colour]string{
		printtemplates.Red: "RED", printtemplates.Orange: "ORANGE", printtemplates.Yellow: "YELLOW",
		printtemplates.Green: "GREEN", printtemplates.Blue: "BLUE", printtemplates.Violet: "VIOLET",
	}[c.Period]
	for _, f := range stock.Fields {
		if text := f.Text(facts); text != "" {
			texts, fields = append(texts, text), append(fields, f)
		}
	}
	return texts, fields
}
