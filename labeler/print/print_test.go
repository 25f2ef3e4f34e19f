package print_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"pgregory.net/rapid"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/labeler/print"
	"cribgate/labeler/render"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

// zeros is a source of one key, the same in every test.
type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

func key(t testing.TB) tagcode.Key {
	t.Helper()
	k, err := tagcode.NewKey(zeros{})
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func stock(t testing.TB, name string) printtemplates.Stock {
	t.Helper()
	s, err := printtemplates.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func stocks(t testing.TB) []printtemplates.Stock {
	t.Helper()
	all, err := printtemplates.OfKind(printtemplates.Tag)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// line is a sling as the machine surface has it.
const line = `{"id":"CS-0417","serial":3,"outcome":"fit","system":"us","grade":80,"size":"3/8","legs":2,"reach_mm":2400,"adjustable":false,` +
	`"stamped":[{"legs":2,"basis":"h60","load_lb":12300}],"rating_tag":"legible","state":"in","inspected":"2025-11-10","due":"2026-11-10"}`

func one(t testing.TB, text string) print.Tag {
	t.Helper()
	tags, err := print.ReadLines(strings.NewReader(text), key(t), "")
	if err != nil {
		t.Fatal(err)
	}
	if len(tags) != 1 {
		t.Fatalf("%d tags in one line", len(tags))
	}
	return tags[0]
}

func encode(t testing.TB, tag print.Tag) symbol.Symbol {
	t.Helper()
	s, err := tag.Encode()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestReadLines(t *testing.T) {
	tag := one(t, line)
	says := tag.Sealed.Tag
	if err := tag.Sealed.Verify(key(t)); err != nil {
		t.Error(err)
	}
	if tag.Ident != "CS-0417" || says.Serial != 3 || says.Number != tagcode.NumberOf(says.Key, "CS-0417") ||
		says.Inspected.String() != "2025-11-10" || says.Due.String() != "2026-11-10" || says.Outcome != tagcode.Fit {
		t.Errorf("read as %+v", says)
	}
	plate := rating.FromTag(says.Facts)
	if plate.System != rating.US || plate.Grade != 80 || plate.Size.String() != "3/8" || plate.Legs != 2 || plate.Reach != 2400*quantity.Millimetre ||
		len(plate.Stamped) != 1 || plate.Stamped[0] != (rating.Stamp{Legs: 2, Basis: rating.H60, Load: 12300 * quantity.Pound}) {
		t.Errorf("plate read as %+v", plate)
	}
	drawn := encode(t, tag)
	if got, err := tagcode.Parse(drawn.Text()); err != nil || got != tag.Sealed {
		t.Errorf("the symbol says %+v, %v", got, err)
	}

	several := "\n" + line + "\r\n \n" + strings.Replace(line, `"serial":3`, `"serial":4`, 1) + "\n"
	tags, err := print.ReadLines(strings.NewReader(several), key(t), "HTTPS://H.EXAMPLE/")
	if err != nil || len(tags) != 2 || tags[1].Sealed.Serial != 4 {
		t.Fatalf("two lines and two blank ones: %d tags, %v", len(tags), err)
	}
	if s := encode(t, tags[0]); !strings.HasPrefix(s.Text(), "HTTPS://H.EXAMPLE/") || s.Level() != symbol.LevelQ {
		t.Errorf("with a prefix: %q at level %s", s.Text(), s.Level())
	}
}

func TestReadLinesRefuses(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{`"id":"CS-0417",`, ``, "sling.id: missing"},
		{`"id":"CS-0417"`, `"id":"cs-0417"`, "sling.id"},
		{`"id":"CS-0417"`, `"id":"12345678901234567"`, "sling.id"},
		{`"id":"CS-0417"`, `"id":""`, "sling.id"},
		{`"serial":3`, `"serial":0`, "sling.serial: 0 is not from 1 to 1023"},
		{`"serial":3`, `"serial":1024`, "sling.serial: 1024 is not from 1 to 1023"},
		{`"serial":3`, `"serial":3.0`, "sling.serial"},
		{`"serial":3`, `"serial":3,"serial":4`, "serial"},
		{`"outcome":"fit"`, `"outcome":"good"`, `sling.outcome: "good" is not fit, hold or out`},
		{`"outcome":"fit"`, `"outcome":null`, "an inspection date and an outcome go together"},
		{`"inspected":"2025-11-10","due":"2026-11-10"`, `"due":null`, "sling.outcome: given without inspected"},
		{`"outcome":"fit"`, `"outcome":null,"inspected":null`, "inspected"}, // a name given twice
		{`"due":"2026-11-10"`, `"due":"2026-02-30"`, "sling.due"},
		{`"due":"2026-11-10"`, `"due":"2025-11-10"`, "not 1 to 511 days after"},
		{`"due":"2026-11-10"`, `"due":"2027-04-06"`, "not 1 to 511 days after"}, // 512 days
		{`"state":"in"`, `"state":"retired"`, "sling.state: a sling that is retired gets no tag"},
		{`"state":"in"`, `"state":"lost"`, "sling.state: a sling that is lost gets no tag"},
		{`"size":"3/8"`, `"size":"10"`, "sling.size"},
		{`"legs":2,"reach`, `"legs":5,"reach`, "sling.legs"},
		{`"state":"in"`, `"state":"in","colour":"red"`, `unknown name "colour"`},
		{`{"id"`, `["id"`, "byte"},
		{`"in"`, "\"in\xff\"", "byte"},
	} {
		if !strings.Contains(line, c.old) {
			t.Fatalf("%q is not in the line", c.old)
		}
		bad := strings.Replace(line, c.old, c.new, 1)
		tags, err := print.ReadLines(strings.NewReader(line+"\n\n"+bad), key(t), "")
		var e *print.LineError
		if tags != nil || !errors.As(err, &e) || e.Line != 3 || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %d tags, error %v, want line 3 and %q", c.new, len(tags), err, c.want)
		}
	}
	// Each bad line is named, and a tag is not printed twice.
	_, err := print.ReadLines(strings.NewReader("{}\n"+line+"\nx\n"+line), key(t), "")
	for _, want := range []string{"line 1: ", "line 3: ", "line 4: the same is there already: serial 3 of CS-0417 is on line 2"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("error %v, want %q in it", err, want)
		}
	}
	if !errors.Is(err, print.ErrTwice) {
		t.Errorf("error %v is not ErrTwice", err)
	}
	_, err = print.ReadLines(strings.NewReader(line+"\n"+strings.Repeat(" ", 70_000)), key(t), "")
	if err == nil || !strings.Contains(err.Error(), "line 2: longer than 65536 bytes") {
		t.Errorf("a line of 70,000 bytes: error %v", err)
	}
}

// words draws a tag and returns its lines of text.
func words(t *testing.T, text string) map[string]bool {
	t.Helper()
	d, err := one(t, text).Draw(stock(t, "plate-50x80"))
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]bool{}
	for _, x := range d.Texts {
		all[x.String] = true
	}
	return all
}

func TestWords(t *testing.T) {
	en := strings.NewReplacer(`"us"`, `"en"`, `"3/8"`, `"10"`, `"h60"`, `"b45"`, `"load_lb":12300`, `"load_g":4250000`).Replace(line)
	single := strings.NewReplacer(`"legs":2`, `"legs":1`, `"h60"`, `"vertical"`, "12300", "7100").Replace(line)
	for _, c := range []struct {
		name, text string
		want, not  []string
	}{
		{"us", line, []string{"CS-0417", "3/8 in  Grade 80  2 legs", "Reach 7 ft 10 1/2 in", "Rated load 12,300 lb", "at 60° from horizontal",
			"Due 10 Nov 2026", "Inspected Nov 2025", "Not the rating tag"}, []string{"HELD: not for use"}},
		{"en", en, []string{"10 mm  Grade 80  2 legs", "Reach 2.4 m", "WLL 4.25 t", "up to 45° from vertical"}, nil},
		{"en under a tonne", strings.Replace(en, "4250000", "950000", 1), []string{"WLL 950 kg"}, nil},
		{"one leg", single, []string{"3/8 in  Grade 80  1 leg", "one leg straight down"}, nil},
		{"us in kilograms", strings.Replace(line, `"load_lb":12300`, `"load_g":5500000`, 1), []string{"Rated load 5,500 kg"}, nil},
		{"no reach", strings.Replace(line, `"reach_mm":2400`, `"reach_mm":null`, 1), []string{"Reach not known"}, nil},
		// US OSHA, Guidance on Safe Sling Use, table 1: 12,300 lb; 2.5 % above it is 12,607.5 lb.
		{"stamp as high as may be", strings.Replace(line, "12300", "12607", 1), []string{"Rated load 12,607 lb", "Due 10 Nov 2026"}, []string{"PLATE IN DOUBT"}},
		{"stamp too high", strings.Replace(line, "12300", "12608", 1), []string{"Rated load in doubt", "PLATE IN DOUBT"}, []string{"Rated load 12,608 lb", "at 60° from horizontal", "Due 10 Nov 2026"}},
		{"no stamp", strings.Replace(line, `{"legs":2,"basis":"h60","load_lb":12300}`, ``, 1), []string{"Rated load see rating tag"}, []string{"at 60° from horizontal"}},
		// 2,391 mm are 94.13 in, 2,394 mm 94.25 in: nearest half inch, halves up.
		{"reach down", strings.Replace(line, "2400", "2391", 1), []string{"Reach 7 ft 10 in"}, nil},
		{"reach up", strings.Replace(line, "2400", "2394", 1), []string{"Reach 7 ft 10 1/2 in"}, nil},
		{"held", strings.Replace(line, `"fit"`, `"hold"`, 1), []string{"HELD: not for use", "Inspected Nov 2025"}, []string{"Due 10 Nov 2026"}},
		{"out of service", strings.Replace(line, `"fit"`, `"out"`, 1), []string{"OUT OF SERVICE"}, []string{"Due 10 Nov 2026"}},
		{"no due date", strings.Replace(line, `"due":"2026-11-10"`, `"due":null`, 1), []string{"NO DUE DATE"}, nil},
		{"never inspected", strings.NewReplacer(`"fit"`, `null`, `"2025-11-10"`, `null`, `"2026-11-10"`, `null`).Replace(line),
			[]string{"NOT INSPECTED", "Inspected not recorded"}, []string{"2025"}},
	} {
		got := words(t, c.text)
		for _, w := range c.want {
			if !got[w] {
				t.Errorf("%s: no %q among %v", c.name, w, got)
			}
		}
		for _, w := range c.not {
			if got[w] {
				t.Errorf("%s: %q is printed", c.name, w)
			}
		}
	}
	// The short code under the symbol is the tag's own.
	tag := one(t, line)
	short := tagcode.ShortOf(tag.Sealed.Number, 3)
	if got := words(t, line); !got[short.String()] {
		t.Errorf("no %q among %v", short, got)
	}
}

func TestMakeRefusesAnotherSling(t *testing.T) {
	tag := one(t, line)
	if _, err := print.Make("CS-0418", tag.Sealed.Tag, key(t), ""); err == nil {
		t.Error("a tag of another sling was made")
	}
	if _, err := print.Make("CS-0417", tag.Sealed.Tag, tagcode.Key{}, ""); err == nil {
		t.Error("a tag was made without its key")
	}
	if _, err := print.Make("CS-0417", tag.Sealed.Tag, key(t), "http://h/"); err == nil {
		t.Error("a tag was made with a prefix that is none")
	}
}

func TestPrinted(t *testing.T) {
	tag := one(t, line)
	drawn, _, err := print.Job{Stock: stock(t, "disc-70")}.Draw(tag)
	if err != nil {
		t.Fatal(err)
	}
	p := drawn.Printed
	s := encode(t, tag)
	if p.Serial != 3 || p.Key != key(t).Fingerprint() || p.Digest != tagcode.Digest(s.Text()) ||
		p.Version != 5 || p.Level != "H" || p.Mask != s.Mask() || p.Stock != "disc-70" {
		t.Errorf("recorded as %+v", p)
	}
}

// Any sling that a tag can hold fits every stock, at its longest too, and
// reads back.
func TestEveryTagFitsEveryStock(t *testing.T) {
	all := stocks(t)
	k := key(t)
	rapid.Check(t, func(t *rapid.T) {
		system := rapid.SampledFrom([]rating.System{rating.US, rating.EN}).Draw(t, "system")
		size := rapid.SampledFrom(rating.Sizes(system)).Draw(t, "size")
		legs := rapid.IntRange(1, 4).Draw(t, "legs")
		basis := rapid.SampledFrom(rating.Bases(system, legs)).Draw(t, "basis")
		plate := rating.Plate{
			System: system, Grade: rapid.SampledFrom([]rating.Grade{80, 100, 120}).Draw(t, "grade"), Size: size, Legs: legs,
			Reach:   quantity.Length(rapid.IntRange(0, 131_071).Draw(t, "reach")) * quantity.Millimetre,
			Stamped: []rating.Stamp{{Legs: legs, Basis: basis, Load: quantity.Mass(rapid.IntRange(1, 262_143).Draw(t, "load")) * quantity.Pound}},
		}
		if rapid.Bool().Draw(t, "kilograms") {
			plate.Stamped[0].Load = plate.Stamped[0].Load / quantity.Pound * quantity.Kilogram
		}
		ident := rapid.StringMatching(`[A-Z0-9]([A-Z0-9./-]{0,14}[A-Z0-9])?`).Draw(t, "ident")
		if rapid.Bool().Draw(t, "widest") {
			ident = strings.Repeat("W", tagcode.MaxIdent)
		}
		inspected, _ := quantity.NewDate(2025, 11, 10)
		outcome := tagcode.Outcome(rapid.IntRange(0, 3).Draw(t, "outcome"))
		due := inspected.AddDays(rapid.IntRange(1, 511).Draw(t, "due"))
		if outcome == tagcode.NoOutcome {
			inspected = quantity.Date{}
		} else if rapid.Bool().Draw(t, "undue") {
			due = quantity.Date{}
		}
		serial := tagcode.Serial(rapid.IntRange(1, 1023).Draw(t, "serial"))
		says, err := state.TagOf(k.Fingerprint(), ident, serial, inspected, due, outcome, plate.TagFacts())
		if err != nil {
			t.Fatal(err)
		}
		prefix := rapid.SampledFrom([]string{"", "HTTPS://A/", "HTTPS://CRIB.EXAMPLE/T/"}).Draw(t, "prefix")
		tag, err := print.Make(ident, says, k, prefix)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range all {
			d, err := tag.Draw(s)
			if err != nil {
				t.Fatal(err)
			}
			var b bytes.Buffer
			if _, err := render.PNG(&b, d.Page(), 203, render.Options{}); err != nil {
				t.Fatal(err)
			}
			if got, err := readSymbol(&b, d.Symbol.At, d.Symbol.Side()); err != nil || got != tag.Sealed.Text() {
				t.Fatalf("%s reads %q, %v", s.Name, got, err)
			}
		}
	})
}

// readSymbol cuts the symbol with half its quiet zone out of a picture of 203
// dots an inch and reads it. It is cut out because the library's own search
// for a symbol misses some clean ones.
func readSymbol(b *bytes.Buffer, at printtemplates.Point, side quantity.Length) (string, error) {
	img, err := png.Decode(b)
	if err != nil {
		return "", err
	}
	dots := func(l quantity.Length) int { return int(int64(l) * 203 / int64(quantity.Inch)) }
	const margin = 1_300
	cut := image.Rect(dots(at.X-margin), dots(at.Y-margin), dots(at.X+side+margin), dots(at.Y+side+margin))
	bitmap, err := gozxing.NewBinaryBitmapFromImage(img.(interface {
		SubImage(image.Rectangle) image.Image
	}).SubImage(cut))
	if err != nil {
		return "", err
	}
	got, err := qrcode.NewQRCodeReader().Decode(bitmap, map[gozxing.DecodeHintType]interface{}{gozxing.DecodeHintType_PURE_BARCODE: true})
	if err != nil {
		return "", err
	}
	return got.GetText(), nil
}

func several(t testing.TB, n int) []print.Tag {
	t.Helper()
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.NewReplacer("CS-0417", fmt.Sprintf("CS-%05d", i)).Replace(line) + "\n")
	}
	tags, err := print.ReadLines(strings.NewReader(b.String()), key(t), "")
	if err != nil {
		t.Fatal(err)
	}
	return tags
}

func listDir(t *testing.T, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return strings.Join(names, " ")
}

func TestWriteFiles(t *testing.T) {
	for _, c := range []struct {
		out  string
		tags int
		want string
	}{
		{"out.pdf", 1, "out.pdf"},
		{"out.pdf", 3, "out.pdf"},
		{"out.PDF", 1, "out.PDF"},
		{"out.svg", 1, "out.svg"},
		{"out.svg", 2, "out-001.svg out-002.svg"},
		{"out.dxf", 1, "out.dxf"},
		{"out.dxf", 2, "out-001.dxf out-002.dxf"},
		{"a.b.png", 1, "a.b.png"},
		{"a.b.png", 2, "a.b-001.png a.b-002.png"},
	} {
		dir := t.TempDir()
		j := print.Job{Stock: stock(t, "plate-50x80"), Out: filepath.Join(dir, c.out), DPI: 203}
		r, err := j.Write(context.Background(), several(t, c.tags), nil)
		if err != nil {
			t.Errorf("%s, %d tags: %v", c.out, c.tags, err)
			continue
		}
		if got := listDir(t, dir); got != c.want {
			t.Errorf("%s, %d tags: wrote %s, want %s", c.out, c.tags, got, c.want)
		}
		for _, f := range r.Files {
			if _, err := os.Stat(f); err != nil {
				t.Errorf("%s: %v", c.out, err)
			}
		}
		if isPNG := strings.HasSuffix(c.out, ".png"); isPNG != (r.Raster.Dots == 5) {
			t.Errorf("%s: raster %+v", c.out, r.Raster)
		}
	}
}

func TestWriteLeavesNothing(t *testing.T) {
	errStop := errors.New("stop")
	ended, cancel := context.WithCancel(context.Background())
	cancel()
	long := several(t, 2)
	long[1].Ident = strings.Repeat("W", 40)
	for name, c := range map[string]struct {
		ctx    context.Context
		out    string
		dpi    int
		tags   []print.Tag
		before func([]print.Drawn) error
		want   string
	}{
		"a tag that does not fit, PDF": {context.Background(), "out.pdf", 0, long, nil, "text does not fit"},
		"a tag that does not fit, SVG": {context.Background(), "out.svg", 0, long, nil, "text does not fit"},
		"too coarse":                   {context.Background(), "out.png", 112, several(t, 1), nil, "resolution does not suit"},
		"not recorded":                 {context.Background(), "out.svg", 0, several(t, 2), func([]print.Drawn) error { return errStop }, "stop"},
		"ended":                        {ended, "out.pdf", 0, several(t, 1), nil, "context canceled"},
		"no format":                    {context.Background(), "out.txt", 0, several(t, 1), nil, "ends in none of"},
		"no ending":                    {context.Background(), "out", 0, several(t, 1), nil, "ends in none of"},
		"no tags":                      {context.Background(), "out.pdf", 0, nil, nil, "nothing to print"},
		"no such folder":               {context.Background(), "none/out.pdf", 0, several(t, 1), nil, "no such file"},
		"a folder in the way":          {context.Background(), "taken-002.svg", 0, several(t, 1), nil, "a directory has that name"},
	} {
		dir := t.TempDir()
		if err := os.Mkdir(filepath.Join(dir, "taken-002.svg"), 0o755); err != nil {
			t.Fatal(err)
		}
		j := print.Job{Stock: stock(t, "plate-50x80"), Out: filepath.Join(dir, c.out), DPI: c.dpi}
		_, err := j.Write(c.ctx, c.tags, c.before)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %q", name, err, c.want)
		}
		if got := listDir(t, dir); got != "taken-002.svg" {
			t.Errorf("%s: left %s", name, got)
		}
	}
	// Half of the files already have their names when the last one fails.
	dir := t.TempDir()
	j := print.Job{Stock: stock(t, "plate-50x80"), Out: filepath.Join(dir, "taken.svg")}
	meanwhile := func([]print.Drawn) error { return os.Mkdir(filepath.Join(dir, "taken-002.svg"), 0o755) }
	if _, err := j.Write(context.Background(), several(t, 2), meanwhile); err == nil || !strings.Contains(err.Error(), "rename") {
		t.Errorf("a folder that came in the way of the second file: error %v", err)
	}
	if got := listDir(t, dir); got != "taken-002.svg" {
		t.Errorf("a folder in the way of the second file: left %s", got)
	}
}

// What must be recorded is recorded when all is drawn and nothing is visible.
func TestWriteRecordsFirst(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "out.pdf")
	called := false
	j := print.Job{Stock: stock(t, "plate-50x80"), Out: out}
	_, err := j.Write(context.Background(), several(t, 1), func(drawn []print.Drawn) error {
		called = len(drawn) == 1 && drawn[0].Ident == "CS-00000" && drawn[0].Printed.Stock == "plate-50x80"
		if _, err := os.Stat(out); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("the file is there before it is recorded: %v", err)
		}
		return nil
	})
	if err != nil || !called {
		t.Errorf("recorded: %v, error %v", called, err)
	}
}

func BenchmarkPDF1000(b *testing.B) {
	tags := several(b, 1000)
	j := print.Job{Stock: stock(b, "plate-50x80"), Out: filepath.Join(b.TempDir(), "out.pdf")}
	for b.Loop() {
		if _, err := j.Write(context.Background(), tags, nil); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkReadLines1000(b *testing.B) {
	var text strings.Builder
	for i := range 1000 {
		text.WriteString(strings.Replace(line, "CS-0417", fmt.Sprintf("CS-%05d", i), 1) + "\n")
	}
	k := key(b)
	for b.Loop() {
		if _, err := print.ReadLines(strings.NewReader(text.String()), k, ""); err != nil {
			b.Fatal(err)
		}
	}
}
