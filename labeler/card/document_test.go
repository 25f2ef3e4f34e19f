package card

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
)

// The documents are whole, their page is the card, their fonts are embedded, and
// they ask not to be scaled.
func TestDocuments(t *testing.T) {
	g := gaugeFor(t, rating.US, "3/8")
	d, err := g.Draw()
	if err != nil {
		t.Fatal(err)
	}
	path := pdfOf(t, d)
	run(t, "qpdf", "--check", path)
	for _, line := range strings.Split(strings.TrimSpace(run(t, "pdffonts", path)), "\n")[2:] {
		if f := strings.Fields(line); f[len(f)-5] != "yes" || f[len(f)-3] != "yes" {
			t.Errorf("font %q is not embedded with its Unicode map", line)
		}
	}
	m := regexp.MustCompile(`Page size: +([0-9.]+) x ([0-9.]+) pts`).FindStringSubmatch(run(t, "pdfinfo", path))
	if m == nil || m[1] != "792" || m[2] != "612" { // letter, lying
		t.Errorf("page size %q", m)
	}
	if catalog := run(t, "qpdf", "--json", "--json-key=qpdf", path); !strings.Contains(catalog, `"/PrintScaling": "/None"`) {
		t.Error("the document may be scaled by whoever prints it")
	}
	text := strings.Join(strings.Fields(run(t, "pdftotext", path, "-")), " ")
	for _, want := range []string{
		"Print at 100 %, no scaling", "if bar A or bar B is not 100.0 mm ± 0.3 mm (bar C 4.000 in ± 0.012 in), this card is void",
		"cut away all of the black and leave none", "What does not go in has not passed", "never replaces, the competent person",
		"Slot 1, 9 mm (0.355 in): least for the mean of two diameters at right angles, EN 818-6: wear: held.",
		"Slot 2, 8.69 mm (0.343 in): least for the smaller diameter, ASME B30.9: table of minimum link thickness: out of service.",
		"line 1, 241.20 mm: beyond it, out of use", "On so short a run 1 mm is 0.42 %",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the card does not say %q:\n%s", want, text)
		}
	}
}

func TestPocketDocument(t *testing.T) {
	day := func(s string) quantity.Date {
		d, err := quantity.ParseDate(s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	r := Record{
		Ident: "CS-0417", Outcome: tagcode.Fit, Policy: gate.DefaultPolicy(), Units: quantity.Imperial, Printed: day("2026-03-02"), AsOf: day("2026-03-02"),
		Sling: gate.Sling{
			Plate: rating.Plate{
				System: rating.US, Grade: rating.Grade80, Size: sizeOf(t, rating.US, "3/8"), Legs: 1,
				Stamped: []rating.Stamp{{Legs: 1, Basis: rating.Vertical, Load: 7_100 * quantity.Pound}},
			},
			RatingTag: gate.TagLegible, State: gate.StateIn, Inspected: day("2025-11-10"), Due: day("2026-11-10"),
		},
	}
	p, err := r.Pocket()
	if err != nil {
		t.Fatal(err)
	}
	sides, err := p.Draw()
	if err != nil {
		t.Fatal(err)
	}
	path := pdfOf(t, sides...)
	run(t, "qpdf", "--check", path)
	info := run(t, "pdfinfo", "-f", "1", "-l", "2", path)
	if !regexp.MustCompile(`(?m)^Title: +CS-0417, pocket card, side 1 to CS-0417, pocket card, side 2$`).MatchString(info) {
		t.Errorf("the title is not that of its sides: %q", info)
	}
	sizes := regexp.MustCompile(`Page +\d+ size: +([0-9.]+) x ([0-9.]+) pts`).FindAllStringSubmatch(info, -1)
	if len(sizes) != 2 {
		t.Fatalf("sides in %q", info)
	}
	for _, m := range sizes {
		for i, want := range []float64{105, 148} { // A6
			if pt, err := strconv.ParseFloat(m[i+1], 64); err != nil || math.Abs(pt*25.4/72-want) > 0.01 {
				t.Errorf("a side measures %s pt, want %g mm", m[i+1], want)
			}
		}
	}
}
