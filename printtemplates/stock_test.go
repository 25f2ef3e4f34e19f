package printtemplates_test

import (
	"errors"
	"os"
	"slices"
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/printtemplates"
)

const mm = quantity.Millimetre

func TestEveryStockOpens(t *testing.T) {
	names, err := printtemplates.List()
	if err != nil {
		t.Fatal(err)
	}
	if len(names) < 2 || !slices.IsSorted(names) {
		t.Fatalf("List() = %q", names)
	}
	files, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	onDisk := 0
	for _, f := range files {
		if strings.HasSuffix(f.Name(), ".json") {
			onDisk++
		}
	}
	if onDisk != len(names) {
		t.Errorf("%d data files, %d stocks", onDisk, len(names))
	}
	shapes, kinds, processes := map[bool]int{}, map[printtemplates.Kind]int{}, map[printtemplates.Process]int{}
	sheets := 0
	for _, name := range names {
		s, err := printtemplates.Open(name)
		if err != nil {
			t.Error(err)
			continue
		}
		shapes[s.Round]++
		kinds[s.Kind]++
		processes[s.Process]++
		if s.Paper.Cells() > 1 {
			sheets++
		}
		if s.Name != name || s.Title == "" || s.Material == "" || strings.ContainsAny(s.Title+s.Material, "\t\n") || len(s.Fields) == 0 {
			t.Errorf("stock %s is not whole", name)
		}
		if s.Kind == printtemplates.Tag && !strings.Contains(sources(s), "{period}") {
			t.Errorf("a crib with colours of periods cannot use %s", name)
		}
	}
	if shapes[true] == 0 || shapes[false] == 0 {
		t.Errorf("round and rectangular stocks: %v", shapes)
	}
	if kinds[printtemplates.Tag] < 6 || kinds[printtemplates.Badge] == 0 || kinds[printtemplates.Slip] == 0 || sheets < 2 {
		t.Errorf("stocks by kind: %v, %d on sheets of many", kinds, sheets)
	}
	if processes[printtemplates.OneColour] == 0 || processes[printtemplates.TwoColours] == 0 {
		t.Errorf("stocks by process: %v", processes)
	}
}

// sources are the texts of a stock's fields.
func sources(s printtemplates.Stock) string {
	var b strings.Builder
	for _, f := range s.Fields {
		b.WriteString(f.Source() + "\n")
	}
	return b.String()
}

// A tag says that it is not the rating tag, and a slip carries the caution.
func TestCautions(t *testing.T) {
	for kind, want := range map[printtemplates.Kind][]string{
		printtemplates.Tag:  {"Not the rating tag"},
		printtemplates.Slip: {"never replaces", "competent person", "maker’s instructions", "local law", "Signed"},
	} {
		stocks, err := printtemplates.OfKind(kind)
		if err != nil || len(stocks) == 0 {
			t.Fatalf("%d stocks for a %s, %v", len(stocks), kind, err)
		}
		for _, s := range stocks {
			text := strings.Join(strings.Fields(sources(s)), " ")
			for _, w := range want {
				if !strings.Contains(text, w) {
					t.Errorf("%s does not say %q", s.Name, w)
				}
			}
		}
	}
}

// Modules of whole dots at the usual resolutions are never smaller than what
// lasts on the stock.
func TestModulesInWholeDots(t *testing.T) {
	names, err := printtemplates.List()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		s, err := printtemplates.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		module := s.Symbol.Side / quantity.Length(37+2*s.Symbol.QuietZone) // version 5: ISO/IEC 18004, from memory, not seen
		for _, dpi := range []quantity.Length{203, 300, 600} {
			dots := module * dpi / quantity.Inch
			if drawn := dots * quantity.Inch / dpi; s.Symbol.Side > 0 && drawn < s.Symbol.Smallest {
				t.Errorf("%s at %d dots an inch: modules of %d dots are %s, at least %s", name, dpi, dots, drawn, s.Symbol.Smallest)
			}
		}
	}
}

func TestOpenUnknown(t *testing.T) {
	for _, name := range []string{"", "no-such", "../go.mod", "plate-50x80.json", "PLATE-50X80", "README"} {
		if _, err := printtemplates.Open(name); !errors.Is(err, printtemplates.ErrUnknown) {
			t.Errorf("Open(%q): error %v, want ErrUnknown", name, err)
		}
	}
}

// small is the least that a stock may be.
const small = `{
 "format": 1, "title": "Least", "outline": {"shape": "rectangle", "width_um": 50000, "height_um": 60000, "corner_um": 0},
 "margin_um": 1000,
 "symbol": {"x_um": 10000, "y_um": 5000, "side_um": 27000, "quiet_zone_modules": 4, "smallest_module_um": 500},
 "fields": [
  {"text": "{id} {due}", "x_um": 25000, "y_um": 40000, "width_um": 40000, "align": "middle", "font": "bold", "type_um": 3000, "smallest_type_um": 2000},
  {"text": "{status} no. {code}", "x_um": 25000, "y_um": 50000, "width_um": 40000, "align": "left", "font": "regular", "type_um": 3000, "smallest_type_um": 2000}
 ]
}`

func TestParseLeast(t *testing.T) {
	s, err := printtemplates.Parse("least", []byte(small))
	if err != nil {
		t.Fatal(err)
	}
	if s.Width != 50*mm || s.Height != 60*mm || s.Round || s.Hole.Diameter != 0 || s.Marks.Months != nil {
		t.Errorf("read as %+v", s)
	}
	f := s.Fields[0]
	if f.Align != printtemplates.Middle || f.Font != printtemplates.Bold || f.Size != 3*mm || f.Smallest != 2*mm ||
		f.At != (printtemplates.Point{X: 25 * mm, Y: 40 * mm}) || f.Width != 40*mm || f.Source() != "{id} {due}" {
		t.Errorf("first field read as %+v", f)
	}
}

func TestFieldText(t *testing.T) {
	s, err := printtemplates.Parse("least", []byte(small))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		facts       map[printtemplates.Word]string
		first, last string
	}{
		{nil, "", ""}, // words, all of them empty: left out
		{map[printtemplates.Word]string{printtemplates.ID: "A1"}, "A1 ", ""},
		{map[printtemplates.Word]string{printtemplates.Due: "x", printtemplates.Status: "held"}, " x", "held no. "},
		{map[printtemplates.Word]string{printtemplates.ID: "{due}", printtemplates.Code: "7"}, "{due} ", " no. 7"}, // what is put in is not read again
	} {
		if got := s.Fields[0].Text(c.facts); got != c.first {
			t.Errorf("first field with %v = %q, want %q", c.facts, got, c.first)
		}
		if got := s.Fields[1].Text(c.facts); got != c.last {
			t.Errorf("second field with %v = %q, want %q", c.facts, got, c.last)
		}
	}
}

func TestMarks(t *testing.T) {
	text := strings.Replace(small, `"title": "Least"`, `"title": "Least", "marks": {"ring_um": 2600, "line_um": 250, "type_um": 2400, "smallest_type_um": 2000, "runs": [
	 {"of": "months", "from": 1, "to": 8, "x_um": 1000, "y_um": 2000, "step_x_um": 10, "step_y_um": -20, "label_x_um": 300, "label_y_um": 400, "label_width_um": 3000},
	 {"of": "months", "from": 9, "to": 12, "radius_um": 20000, "label_radius_um": 17000, "start_mdeg": 0, "step_mdeg": 90000, "label_width_um": 3100}]}`, 1)
	s, err := printtemplates.Parse("least", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	pt := func(x, y quantity.Length) printtemplates.Point { return printtemplates.Point{X: x, Y: y} }
	for i, want := range map[int]printtemplates.Mark{
		0:  {Ring: pt(1000, 2000), Label: pt(1300, 2400), Width: 3000},
		7:  {Ring: pt(1070, 1860), Label: pt(1370, 2260), Width: 3000},
		8:  {Ring: pt(25*mm, 10*mm), Label: pt(25*mm, 13*mm), Width: 3100}, // top, then clockwise
		9:  {Ring: pt(45*mm, 30*mm), Label: pt(42*mm, 30*mm), Width: 3100},
		11: {Ring: pt(5*mm, 30*mm), Label: pt(8*mm, 30*mm), Width: 3100},
	} {
		if s.Marks.Months[i] != want {
			t.Errorf("month %d: %+v, want %+v", i+1, s.Marks.Months[i], want)
		}
	}
	if s.Marks.Years != nil {
		t.Errorf("years: %v", s.Marks.Years)
	}
}
