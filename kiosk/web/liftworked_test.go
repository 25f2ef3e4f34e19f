package web

import (
	"fmt"
	"html"
	"maps"
	"math"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// tabledPlate is a sling stamped as the tables print it.
func tabledPlate(t testing.TB, s rating.System, g rating.Grade, size string, legs int, reach quantity.Length) rating.Plate {
	t.Helper()
	z, err := rating.ParseSize(s, size)
	if err != nil {
		t.Fatal(err)
	}
	p := rating.Plate{System: s, Grade: g, Size: z, Legs: legs, Reach: reach}
	for _, b := range rating.Bases(s, legs) {
		if cell, ok := rating.TableCell(g, z, legs, b); ok {
			p.Stamped = append(p.Stamped, rating.Stamp{Legs: legs, Basis: b, Load: cell.Load})
		}
	}
	return p
}

// seen is what the lift page answers.
type seenLift struct {
	text  string
	first string    // identification of the first sling that would do; empty for none
	legs  []float64 // pounds
}

var (
	firstOffer = regexp.MustCompile(`(?s)<ol class="offers">.*?<p class="which"><a href="[^"]*">([^<]+)<`)
	legCarries = regexp.MustCompile(`Leg \d carries ([0-9,]+) lb`)
)

// asks puts a lift to the page as its script does.
func (c *client) asks(v url.Values) (s seenLift) {
	c.k.t.Helper()
	a := c.post("/lift/answer", v)
	if a.status != 200 {
		c.k.t.Fatalf("%d: %s", a.status, a.body)
	}
	s.text = strings.Join(strings.Fields(html.UnescapeString(tagPattern.ReplaceAllString(a.body, " "))), " ")
	if m := firstOffer.FindStringSubmatch(a.body); m != nil {
		s.first = m[1]
	}
	for _, m := range legCarries.FindAllStringSubmatch(a.body, -1) {
		n, err := strconv.ParseFloat(strings.ReplaceAll(m[1], ",", ""), 64)
		if err != nil {
			c.k.t.Fatal(err)
		}
		s.legs = append(s.legs, n)
	}
	return s
}

// stating is a lift as the page sends it.
func stating(load string, legs int, pairs ...string) url.Values {
	v := url.Values{"load": {strings.TrimSuffix(load, " kg")}, "unit": {"lb"}, "known": {"weighed"}, "special": {"no"}, "hitch": {"straight"}, "legs": {strconv.Itoa(legs)},
		"centred": {"yes"}, "bears": {"nothing"}, "back": {"2026-03-02"}, "length-unit": {"ft"}, "radius-unit": {"mm"}, "scale": {"F"}, "together": {"one"}}
	if strings.HasSuffix(load, " kg") {
		v.Set("unit", "kg")
	}
	return with(v, pairs...)
}

// TestWorkedChoicesByThePage: the smallest listed size that carries the load is offered
// first by the page, by the tables of US OSHA, Guidance on Safe Sling Use (1: grade 80,
// 2: grade 100), and of EN 818-4; computed from them but where another source is named.
func TestWorkedChoicesByThePage(t *testing.T) {
	t.Parallel()
	h := func(degrees string) []string {
		return []string{"angle", "degrees", "degrees", degrees, "from", "horizontal"}
	}
	beta := func(degrees string) []string {
		return []string{"angle", "degrees", "degrees", degrees, "from", "vertical"}
	}
	choked := func(angle string) []string {
		return []string{"hitch", "choke", "bears", "round", "radius", "500", "choke", angle}
	}
	hot := []string{"special", "yes", "use", "ordinary", "heat", "other", "temperature", "600"}
	type row struct {
		source string
		legs   int
		load   string
		how    []string
		want   string // size; empty: none would do
	}
	for _, rack := range []struct {
		system rating.System
		grade  rating.Grade
		sizes  string
		rows   []row
	}{
		{rating.US, rating.Grade80, "9/32 5/16 3/8 1/2 5/8 3/4 7/8", []row{
			{"table 1", 2, "10,000", h("60"), "3/8"},
			{"table 1: exactly equal is allowed", 2, "10,000", h("45"), "3/8"},
			{"table 1: one pound over", 2, "10,001", h("45"), "1/2"},
			{"table 1: the next lower angle of 50° is 45°", 2, "10,000", h("50"), "3/8"},
			{"table 1", 2, "10,000", h("30"), "1/2"},
			{"OSHA guide: none below 30°", 2, "10,000", h("29"), ""},
			{"table 1, rated as three legs", 4, "20,000", h("60"), "1/2"},
			{"table 1, rated as three legs", 4, "20,000", h("45"), "1/2"},
			{"table 1, rated as three legs", 4, "20,000", h("30"), "5/8"},
			{"table 1, boundary", 1, "7,100", nil, "3/8"},
			{"table 1, boundary", 1, "7,101", nil, "1/2"},
			{"table 1, boundary", 3, "60,000", h("45"), "3/4"},
			{"table 1, boundary", 3, "60,001", h("45"), "7/8"},
			{"1/2 in by table 1, nominally 13 mm: 20,784 lb is 12,000 × 1.7320", 2, "20,784", h("60"), "1/2"},
			{"table 3 for over 120°", 1, "5,000", choked("120"), "3/8"},
			{"trade choke chart, 65 % from 90°; 3/8 carries 4,615", 1, "5,000", choked("90"), "1/2"},
			{"B30.9 table 9-1.8.1-1 at 600 °F; 3/8 carries 5,680", 1, "6,000", hot, "1/2"},
		}},
		{rating.US, rating.Grade100, "5/16 3/8 1/2", []row{
			{"table 2: 3/8 carries 8,800", 2, "10,000", h("30"), "1/2"},
			{"OSHA guide: none below 30°", 2, "10,000", h("29"), ""},
			{"table 2, rated as three legs", 4, "20,000", h("60"), "3/8"},
			{"table 2, rated as three legs", 4, "20,000", h("45"), "1/2"},
			{"table 2, rated as three legs", 4, "20,000", h("30"), "1/2"},
		}},
		{rating.EN, rating.Grade80, "8 10 13", []row{
			{"EN 818-4: 10 mm carries 4.25 t", 2, "5,000 kg", beta("40"), "13"},
			{"EN 818-4: 45° is of the first band", 2, "5,000 kg", beta("45"), "13"},
			{"EN 818-4: 45.1° is of the second, 5.3 t", 2, "5,300 kg", beta("45.1"), "13"},
			{"EN 818-4: and no more", 2, "5,301 kg", beta("45.1"), ""},
			{"EN 818-4: exactly equal", 4, "11,200 kg", beta("45"), "13"},
			{"EN 818-4: none over 60°", 2, "100 kg", beta("60.1"), ""},
			{"EN 818-4: 1.4 × 3.15 = 4.41 would pass more than the cell", 2, "4,250 kg", h("45"), "10"},
			{"EN 818-4: one kilogram over the cell", 2, "4,251 kg", h("45"), "13"},
			{"13 mm by EN", 2, "7,500 kg", h("60"), "13"},
		}},
	} {
		k := newKiosk(t)
		need := map[int]bool{}
		for _, r := range rack.rows {
			need[r.legs] = true
		}
		for _, size := range strings.Fields(rack.sizes) {
			for _, legs := range slices.Sorted(maps.Keys(need)) {
				k.hanging(fmt.Sprintf("%d-%s", legs, strings.ReplaceAll(size, "/", ".")), func(d *event.Details) {
					d.Sling.Plate = tabledPlate(t, rack.system, rack.grade, size, legs, 3*quantity.Metre)
				})
			}
		}
		c := k.signedIn(k.attendant)
		for _, r := range rack.rows {
			want := strings.ReplaceAll(r.want, "/", ".")
			got := c.asks(stating(r.load, r.legs, r.how...))
			if _, size, _ := strings.Cut(got.first, "-"); size != want || (want == "") != strings.Contains(got.text, "No sling here would do") {
				t.Errorf("%s, grade %d, %d legs, %s, %v: %q, want %q: %s", r.source, rack.grade, r.legs, r.load, r.how, got.first, want, got.text)
			}
		}
	}
}

// TestWorkedSlings: a quiz of a Canadian training agency has a bridle of 1/2 in that
// lists 16,627 lb at 45° carry 12,470.25 lb choked, by the factor 0.75; and 10 % are
// gone for good after 700 °F (B30.9 table 9-1.8.1-1).
func TestWorkedSlings(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	policy := k.policy()
	policy.StrictChoke = true
	k.setPolicy(policy)
	k.hanging("BRIDLE", func(d *event.Details) { d.Sling.Plate = plateOf(t, "1/2", 2, rating.H45, 16_627) })
	k.hanging("HEATED", func(d *event.Details) {
		was := quantity.Fahrenheit(700)
		d.Sling.Plate, d.Sling.Hottest = tabledPlate(t, rating.US, rating.Grade80, "1/2", 1, 3*quantity.Metre), &was
	})
	c := k.signedIn(k.attendant)
	bridle := []string{"hitch", "choke", "bears", "round", "radius", "500", "choke", "120", "angle", "degrees", "degrees", "45", "from", "horizontal"}
	for _, r := range []struct {
		load string
		legs int
		how  []string
		want string
	}{
		{"11,800", 2, bridle, "BRIDLE"}, {"12,470", 2, bridle, "BRIDLE"}, {"12,471", 2, bridle, ""},
		{"10,800", 1, nil, "HEATED"}, {"10,801", 1, []string{"bears", "nothing"}, ""},
	} {
		if got := c.asks(stating(r.load, r.legs, r.how...)); got.first != r.want && !(r.load == "10,801" && got.first == "BRIDLE") {
			t.Errorf("%s: %q, want %q: %s", r.load, got.first, r.want, got.text)
		}
	}
}

// TestWorkedTensionsByThePage: two level picks, so many feet (typed as metres, whose
// millimetres are whole) to either side of the plumb
// line, and the hook so high over them, by places; who printed it stands beside each.
func TestWorkedTensionsByThePage(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	for _, size := range []string{"3/8", "1/2", "5/8", "1"} {
		k.hanging(strings.ReplaceAll(size, "/", "."), func(d *event.Details) {
			d.Sling.Plate = tabledPlate(t, rating.US, rating.Grade80, size, 2, 95*quantity.Metre)
			d.Sling.Adjustable = true
		})
	}
	c := k.signedIn(k.attendant)
	level := func(load, d1, d2, height string) url.Values {
		far := func(text string) float64 {
			n, err := strconv.ParseFloat(text, 64)
			if err != nil {
				t.Fatal(err)
			}
			return n
		}
		return stating(load, 2, "angle", byPlaces, "centred", "", "p1x", "0", "p1z", "0", "p2x", strconv.FormatFloat(far(d1)+far(d2), 'f', 3, 64), "p2z", "0",
			"cx", d1, "cy", "0", "cz", "-1", "hook", height, "length-unit", "m")
	}
	for _, r := range []struct {
		source          string
		load, d1, d2, h string
		legs            [2]float64
		first           string // size that is offered first; empty: not held
		flat            string // angle at which it is refused
	}{
		{"trade page, h 60; prints 5,775 by three-digit factors", "10,000", "10", "10", "17.321", [2]float64{5773.5, 5773.5}, "", ""},
		{"trade page, h 45; prints 7,070", "10,000", "7", "7", "7", [2]float64{7071.1, 7071.1}, "", ""},
		{"trade page, h 30", "10,000", "8", "8", "4.619", [2]float64{10_000, 10_000}, "", ""},
		{"trade page, 1,000 lb at h 60", "1,000", "5", "5", "8.661", [2]float64{577.4, 577.4}, "", ""},
		{"trade page, 1,000 lb at h 45: one prints 500 ÷ 1.414 by mistake", "1,000", "5", "5", "5", [2]float64{707.1, 707.1}, "", ""},
		{"training agency quiz, L 16, H 12", "15,000", "10.583", "10.583", "12", [2]float64{10_000, 10_000}, "", ""},
		{"trade page, L 10, H 5", "1,000", "8.66", "8.66", "5", [2]float64{1_000, 1_000}, "", ""},
		{"US Army FM 5-125 (from memory), L 8, V 6", "1,800", "5.291", "5.291", "6", [2]float64{1_200, 1_200}, "", ""},
		{"trade page, two upright slings, 8 ft and 2 ft from the centre of gravity", "10,000", "8", "2", "90", [2]float64{2_007.9, 8_002}, "", ""},
		{"statics, legs 13 and 15", "14,000", "5", "9", "12", [2]float64{9_750, 6_250}, "", ""},
		{"statics, legs 13 and 20", "25,200", "5", "16", "12", [2]float64{20_800, 10_000}, "", ""},
		{"statics, legs 15 and 20: chosen by the heavier leg and not by half the load", "12,000", "9", "16", "12", [2]float64{9_600, 7_200}, "1.2", ""},
		{"statics, β 30 and 45", "10,000", "5.774", "10", "10", [2]float64{7_320.5, 5_176.4}, "", ""},
		{"statics, one leg at 29.74°: refused though both loads are small", "9,000", "2", "7", "4", [2]float64{7_826.2, 4_031.1}, "", "29.7°"},
		{"university training page, BAD PRINT: a leg at 16.7°", "4,000", "2", "10", "3", [2]float64{4_006.2, 2_320.1}, "", "16.6°"},
	} {
		got := c.asks(level(r.load, r.d1, r.d2, r.h))
		if len(got.legs) != 2 {
			t.Errorf("%s: legs %v: %s", r.source, got.legs, got.text)
			continue
		}
		for i, want := range r.legs {
			if math.Abs(got.legs[i]-want) > 1+0.0004*want {
				t.Errorf("%s: leg %d carries %.0f lb, want %.1f", r.source, i+1, got.legs[i], want)
			}
		}
		refused := got.first == "" && strings.Contains(got.text, "too flat") && strings.Contains(got.text, r.flat+" from horizontal")
		if (r.flat != "") != refused || r.first != "" && got.first != r.first {
			t.Errorf("%s: %q first: %s", r.source, got.first, got.text)
		}
	}
}

// TestWorkedSpans: legs of 6 ft over 7.937 ft stand at 48.59° and each carries 2 of 3
// tons (Nicholls's Seamanship, which prints 7.944 ft and 41°25′ from vertical); a tray
// of 4 × 4 ft on four legs of 7 ft leans 23.83° from vertical (the same; prints 23°51′).
func TestWorkedSpans(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.hanging("TWO", reaching(t, 2, 6, ""))
	k.hanging("FOUR", reaching(t, 4, 7, ""))
	c := k.signedIn(k.attendant)
	got := c.asks(stating("6,000", 2, "angle", bySpan, "span", "7.937"))
	if got.first != "TWO" || len(got.legs) != 2 || math.Abs(got.legs[0]-4_000) > 4 || !strings.Contains(got.text, "48.5° from horizontal") || !strings.Contains(got.text, "41.5° from vertical") {
		t.Errorf("two legs: %s", got.text)
	}
	got = c.asks(stating("2,240", 4, "angle", bySpan, "span", "4", "width", "4"))
	if got.first != "FOUR" || !strings.Contains(got.text, "66.1° from horizontal") || !strings.Contains(got.text, "23.9° from vertical") {
		t.Errorf("four legs: %s", got.text)
	}
}
