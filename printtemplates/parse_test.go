package printtemplates_test

import (
	"slices"
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/printtemplates"
)

// paper is a sheet for the least stock.
const paper = `{"width_um": 210000, "height_um": 297000, "x_um": 10000, "y_um": 20000, "step_x_um": 60000, "step_y_um": 70000, "columns": 2, "rows": 3, "crop": true}`

// Each line takes the least stock and spoils one thing.
func TestParseRefuses(t *testing.T) {
	marks := `"title": "Least", "marks": {"ring_um": 2600, "line_um": 250, "type_um": 2400, "smallest_type_um": 2000, "runs": [`
	run := `{"of": "months", "from": 1, "to": 12, "radius_um": 20000, "label_radius_um": 17000, "start_mdeg": 0, "step_mdeg": 30000, "label_width_um": 3000}`
	area := `{"x_um": 2000, "y_um": 2000, "width_um": 4000, "height_um": 5000}`
	for _, c := range []struct{ old, new, want string }{
		{"}\n ]\n}", "}\n ]\n} {}", "byte"},
		{`"title"`, `"titel"`, "stock.title: missing"},
		{`"title": "Least"`, `"title": ""`, "stock.title: empty"},
		{`"title": "Least"`, `"title": "Least\nagain"`, "stock.title: more than one line, or what cannot be printed"},
		{`"title": "Least"`, `"title": "Least", "material": "tin\tfoil"`, "stock.material: more than one line, or what cannot be printed"},
		{`"title": "Least"`, `"title": "Least", "clear": [` + strings.Replace(area, "{", `{"what": "a\u0000", `, 1) + `]`, "stock.clear[0].what: more than one line"},
		{`{id} {due}`, `{id} {due}\u0000`, "fields[0].text: more than one line, or what cannot be printed"},
		{`"title": "Least"`, `"title": "Least", "colour": "red"`, `unknown name "colour"`},
		{`"format": 1`, `"format": 2`, "stock.format"},
		{`"format": 1`, `"format": 1.0`, "stock.format"},
		{`"format": 1`, `"format": 1, "format": 1`, "format"},
		{`"rectangle"`, `"oval"`, `outline.shape: "oval" is not rectangle or round`},
		{`"width_um": 50000`, `"width_um": 4999`, "outline.width_um: 4999 is not from 5000 to 600000"},
		{`"width_um": 50000`, `"width_um": 600001`, "outline.width_um"},
		{`"corner_um": 0`, `"corner_um": 25001`, "outline.corner_um: 25001 is not from 0 to 25000"},
		{`"quiet_zone_modules": 4`, `"quiet_zone_modules": 3`, "symbol.quiet_zone_modules: 3 is not from 4 to 20"},
		{`"smallest_module_um": 500`, `"smallest_module_um": 99`, "symbol.smallest_module_um"},
		{`"align": "middle"`, `"align": "centre"`, "fields[0].align"},
		{`"font": "bold"`, `"font": "slab"`, "fields[0].font"},
		{`"type_um": 3000, "smallest_type_um": 2000}` + "\n ]", `"type_um": 3000, "smallest_type_um": 3001}` + "\n ]", "fields[1].smallest_type_um"},
		{`{id} {due}`, `{id} {due`, "fields[0].text: opening brace"},
		{`{id} {due}`, `{id} due}`, "fields[0].text: closing brace"},
		{`{id} {due}`, `{id} {day}`, `fields[0].text: unknown word "day"`},
		{`"{id} {due}"`, `""`, "fields[0].text: empty"},
		{`{id} {due}`, `due {due}`, "no field shows {id}"},
		{`{id} {due}`, `{id}`, "no field shows {due}"},
		{`{status} no. {code}`, `{code}`, "no field shows {status}"},
		{`{status} no. {code}`, `{status}`, "no field shows {code}"},
		{`{status} no.`, `{status} {load}`, "{load} and {angle} are shown together"},
		{`{status} no.`, `{status} {angle}`, "{load} and {angle} are shown together"},
		{`"title": "Least"`, marks + strings.Replace(run, `"to": 12`, `"to": 11`, 1) + `]}`, "11 of 12 months have a mark"},
		{`"title": "Least"`, marks + run + "," + run + `]}`, "marks.runs[1].from: there are 12 already"},
		{`"title": "Least"`, marks + strings.Replace(run, `"from": 1`, `"from": 2`, 1) + `]}`, "marks.runs[0].from: 2 is not from 1 to 1"},
		{`"title": "Least"`, marks + strings.Replace(run, `"to": 12`, `"to": 13`, 1) + `]}`, "marks.runs[0].to"},
		{`"title": "Least"`, marks + strings.Replace(run, `"label_radius_um": 17000, `, ``, 1) + `]}`, "label_radius_um: missing"},
		{`"title": "Least"`, marks + strings.Replace(run, `"months"`, `"weeks"`, 1) + `]}`, "marks.runs[0].of"},
		{`"title": "Least"`, `"title": "Least", "kind": "poster"`, `stock.kind: "poster" is not one of ["tag" "badge" "slip"]`},
		{`"title": "Least"`, `"title": "Least", "kind": "badge"`, `fields[0].text: unknown word "id" on a badge`},
		{`"title": "Least"`, `"title": "Least", "kind": "slip"`, `fields[0].text: unknown word "due" on a slip`},
		{`{id} {due}`, `{id} {due} {name}`, `unknown word "name" on a tag`},
		{`"title": "Least"`, `"title": "Least", "process": "three colours"`, "stock.process"},
		{`"title": "Least"`, `"title": "Least", "second_colour": "red"`, "stock.process: one colour, and a second one is used"},
		{`"title": "Least"`, `"title": "Least", "period": ` + area, "stock.process: one colour, and a second one is used"},
		{`"font": "bold"`, `"font": "bold", "colour": "second"`, "stock.process: one colour, and a second one is used"},
		{`"title": "Least"`, `"title": "Least", "lines": [` + strings.Replace(area, "{", `{"colour": "second", `, 1) + `]`, "stock.process: one colour, and a second one is used"},
		{`"title": "Least"`, `"title": "Least", "process": "two colours"`, "stock.process: two colours: either"},
		{`"title": "Least"`, `"title": "Least", "process": "two colours", "second_colour": "red", "period": ` + area, "stock.process: two colours: either"},
		{`"title": "Least"`, `"title": "Least", "process": "two colours", "second_colour": "mauve"`, `stock.second_colour: "mauve" is not one of [red orange yellow green blue violet]`},
		{`"title": "Least"`, `"title": "Least", "process": "two colours", "period": ` + area, "no field shows {period}"},
		{`"title": "Least"`, `"title": "Least", "process": "two colours", "period": ` + strings.Replace(area, `4000`, `999`, 1), "stock.period.width_um: 999 is not from 1000 to 600000"},
		{`"font": "bold"`, `"font": "bold", "colour": "third"`, "fields[0].colour"},
		{`"title": "Least"`, `"title": "Least", "lines": [` + strings.Replace(area, `4000`, `99`, 1) + `]`, "stock.lines[0].width_um: 99 is not from 100 to 600000"},
		{`"title": "Least"`, `"title": "Least", "clear": [` + area + `]`, "stock.clear[0].what: missing"},
		{`"title": "Least"`, `"title": "Least", "paper": ` + strings.Replace(paper, `"columns": 2`, `"columns": 0`, 1), "stock.paper.columns: 0 is not from 1 to 50"},
		{`"title": "Least"`, `"title": "Least", "paper": ` + strings.Replace(paper, `"rows": 3`, `"rows": 51`, 1), "stock.paper.rows: 51 is not from 1 to 50"},
		{`"title": "Least"`, `"title": "Least", "paper": ` + strings.Replace(paper, `"step_x_um": 60000, `, ``, 1), "stock.paper.step_x_um: missing"},
		{`"title": "Least"`, `"title": "Least", "paper": ` + strings.Replace(paper, `"crop": true`, `"crop": 1`, 1), "stock.paper.crop"},
		{`"title": "Least"`, `"title": "Least", "paper": ` + strings.Replace(paper, `"x_um": 10000`, `"x_um": -1`, 1), "stock.paper.x_um: -1 is not from 0"},
	} {
		if strings.Count(small, c.old) != 1 {
			t.Fatalf("%q stands %d times in the least stock", c.old, strings.Count(small, c.old))
		}
		s, err := printtemplates.Parse("least", []byte(strings.Replace(small, c.old, c.new, 1)))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s for %s: error %v, want %q", c.new, c.old, err, c.want)
		}
		if s.Title != "" || s.Fields != nil {
			t.Errorf("%s: a stock beside the error", c.new)
		}
	}
	for _, name := range []string{"", "A", "a b", "a/b", "ä", strings.Repeat("a", 41)} {
		if _, err := printtemplates.Parse(name, []byte(small)); err == nil {
			t.Errorf("Parse with name %q: no error", name)
		}
	}
}

// What the least stock may have more.
func TestParseMore(t *testing.T) {
	text := strings.Replace(small, `"title": "Least"`, `"title": "Least", "kind": "tag", "material": "film", "process": "two colours",
	 "period": {"x_um": 2000, "y_um": 3000, "width_um": 4000, "height_um": 5000},
	 "lines": [{"x_um": 1, "y_um": 2, "width_um": 300, "height_um": 400, "colour": "second"}],
	 "clear": [{"what": "fold", "x_um": 5, "y_um": 6, "width_um": 700, "height_um": 800}],
	 "paper": `+paper, 1)
	text = strings.NewReplacer(`{status} no.`, `{status} {period} no.`, `"font": "bold"`, `"font": "bold", "colour": "second"`).Replace(text)
	s, err := printtemplates.Parse("least", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	at := func(x, y int64) printtemplates.Point {
		return printtemplates.Point{X: length(x), Y: length(y)}
	}
	if s.Kind != printtemplates.Tag || s.Material != "film" || s.Process != printtemplates.TwoColours || s.Second != printtemplates.NoColour ||
		s.Period != (printtemplates.Box{At: at(2000, 3000), Width: 4 * mm, Height: 5 * mm}) ||
		!s.Fields[0].Second || s.Fields[1].Second {
		t.Errorf("read as %+v", s)
	}
	if len(s.Lines) != 1 || s.Lines[0] != (printtemplates.Line{Box: printtemplates.Box{At: at(1, 2), Width: 300, Height: 400}, Second: true}) {
		t.Errorf("lines read as %+v", s.Lines)
	}
	if len(s.Clear) != 1 || s.Clear[0] != (printtemplates.Clear{What: "fold", Box: printtemplates.Box{At: at(5, 6), Width: 700, Height: 800}}) {
		t.Errorf("what stays clear read as %+v", s.Clear)
	}
	if s.Paper != (printtemplates.Paper{Width: 210 * mm, Height: 297 * mm, First: at(10_000, 20_000), Step: at(60_000, 70_000), Columns: 2, Rows: 3, Crop: true}) {
		t.Errorf("paper read as %+v", s.Paper)
	}
	if s.Paper.Cells() != 6 || s.Paper.Cell(5) != at(70_000, 160_000) || (printtemplates.Paper{}).Cells() != 1 || (printtemplates.Paper{}).Cell(0) != at(0, 0) {
		t.Errorf("%d cells, the last at %v", s.Paper.Cells(), s.Paper.Cell(5))
	}
}

// A slip may do without a symbol, a tag and a badge may not, and only a tag has
// marks.
func TestParseKinds(t *testing.T) {
	fields := func(words string) string {
		return `{"format": 1, "title": "K", "kind": "KIND", "outline": {"shape": "rectangle", "width_um": 50000, "height_um": 60000, "corner_um": 0}, "margin_um": 0,
		 "fields": [{"text": "` + words + `", "x_um": 0, "y_um": 5000, "width_um": 50000, "align": "left", "font": "bold", "type_um": 3000, "smallest_type_um": 2000}]}`
	}
	const symbol = `"margin_um": 0, "symbol": {"x_um": 0, "y_um": 10000, "side_um": 45000, "quiet_zone_modules": 4, "smallest_module_um": 500}`
	slip := strings.Replace(fields("{id} {crib} {name} {issued} {until} {lift} {required} {allowed}"), "KIND", "slip", 1)
	badge := strings.Replace(fields("{name} {role} {crib} {code}"), "KIND", "badge", 1)
	tag := strings.Replace(fields("{id} {due} {status} {code}"), "KIND", "tag", 1)
	with := func(text, more string) string { return strings.Replace(text, `"margin_um": 0`, more, 1) }
	for _, c := range []struct{ name, text, want string }{
		{"slip", slip, ""},
		{"slip with a symbol", with(slip, symbol), ""},
		{"badge", badge, "stock.symbol: missing"},
		{"badge with a symbol", with(badge, symbol), ""},
		{"tag", tag, "stock.symbol: missing"},
		{"tag with a symbol", with(tag, symbol), ""},
		{"slip with marks", with(slip, `"margin_um": 0, "marks": {"ring_um": 2600, "line_um": 250, "type_um": 2400, "smallest_type_um": 2000, "runs": []}`), "stock.marks: a slip has no month and year marks"},
		{"slip with a period", with(slip, `"margin_um": 0, "process": "two colours", "period": {"x_um": 2000, "y_um": 2000, "width_um": 4000, "height_um": 5000}`), "stock.period: a slip is of no period"},
		{"slip without what is lifted", strings.Replace(slip, "{lift}", "", 1), "no field shows {lift}"},
		{"slip without what is allowed", strings.Replace(slip, "{allowed}", "", 1), "no field shows {allowed}"},
		{"slip that gives a load only", strings.Replace(slip, "{id}", "{id} {load}", 1), "{load} and {angle} are shown together"},
		{"badge without a name", with(strings.Replace(badge, "{name}", "", 1), symbol), "no field shows {name}"},
	} {
		_, err := printtemplates.Parse("kind", []byte(c.text))
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%s: error %v, want %q", c.name, err, c.want)
		}
	}
}

func TestColours(t *testing.T) {
	seen := map[[3]uint8]printtemplates.Colour{}
	for _, c := range printtemplates.Colours() {
		got, err := printtemplates.ParseColour(c.String())
		if err != nil || got != c {
			t.Errorf("ParseColour(%q) = %v, %v", c, got, err)
		}
		r, g, b := c.RGB()
		if other, ok := seen[[3]uint8{r, g, b}]; ok {
			t.Errorf("%v looks like %v", c, other)
		}
		seen[[3]uint8{r, g, b}] = c
	}
	for _, name := range []string{"", "Red", "RED", "white", "colour 9"} {
		if c, err := printtemplates.ParseColour(name); err == nil || c != printtemplates.NoColour {
			t.Errorf("ParseColour(%q) = %v", name, c)
		}
	}
	if printtemplates.NoColour.String() != "" {
		t.Errorf("none is called %q", printtemplates.NoColour)
	}
}

// Every word belongs to a kind, and what a kind requires is among its words.
func TestWordsOfKinds(t *testing.T) {
	for _, k := range []printtemplates.Kind{printtemplates.Tag, printtemplates.Badge, printtemplates.Slip} {
		words := k.Words()
		if len(words) == 0 || len(k.Required()) == 0 {
			t.Errorf("a %s has %d words, %d required", k, len(words), len(k.Required()))
		}
		for i, w := range words {
			if slices.Contains(words[:i], w) {
				t.Errorf("a %s has {%s} twice", k, w)
			}
		}
		for _, w := range k.Required() {
			if !slices.Contains(words, w) {
				t.Errorf("a %s requires {%s} and does not have it", k, w)
			}
		}
	}
}

func length(um int64) quantity.Length { return quantity.Length(um) * quantity.Micrometre }
