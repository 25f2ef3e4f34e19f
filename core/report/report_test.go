package report

import (
	"slices"
	"strings"
	"testing"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/removal"
	"cribgate/core/state"
	"cribgate/core/tagcode"
)

func on(text string) quantity.Date {
	d, err := quantity.ParseDate(text)
	if err != nil {
		panic(err)
	}
	return d
}

// full are the facts of an inspection of which everything was recorded. The one
// measured link is thinner than both systems allow.
func full(t testing.TB) Facts {
	t.Helper()
	size, err := rating.ParseSize(rating.EN, "10")
	if err != nil {
		t.Fatal(err)
	}
	um := quantity.Micrometre
	q := removal.Question{ID: "m", Sling: removal.Sling{Grade: rating.Grade80, Size: size, Legs: 1}, Found: removal.Found{
		Links: []removal.Link{{Leg: 1, At: 4, D1: 8_600 * um, D2: 8_700 * um}},
		Runs:  []removal.Run{{Leg: 1, Links: 11, New: 330_000 * um, Length: 332_000 * um}},
		Hooks: []removal.Hook{{Leg: 1, ThroatNew: 28_000 * um, Throat: 28_600 * um, Twist: quantity.Degree, SectionNew: 20_000 * um, Section: 19_400 * um, Latch: removal.LatchGood}},
		Parts: []removal.Part{{What: removal.Master, New: 16_000 * um, Thinnest: 15_800 * um}},
		Seen:  []removal.Code{removal.Nick},
	}}
	line, err := q.MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	return Facts{
		Units: quantity.Metric,
		Crib: state.Crib{Founded: event.Founded{Name: "Quay crib", Rules: due.UK, Policy: event.Policy{
			Employer: event.Employer{Name: "Works Ltd", Address: "3 Quay Road", Premises: "Shed 2, Quay Road"},
		}}},
		Sling: state.Sling{Details: event.Details{
			Ident: "CS 12/4", Maker: "K", Made: "2019-04",
			Sling: gate.Sling{Inspected: on("2025-09-01"), Plate: rating.Plate{
				System: rating.EN, Grade: rating.Grade80, Size: size, Legs: 1, Reach: 3 * quantity.Metre,
				Stamped: []rating.Stamp{{Legs: 1, Basis: rating.Vertical, Load: 3150 * quantity.Kilogram}},
			}},
		}},
		Inspected: event.Inspected{
			Date: on("2026-03-02"), Outcome: tagcode.Out, Service: due.Severe, Due: on("2026-06-02"), RatingTag: gate.TagLegible, Note: "hung up and cleaned",
			Sheet: &event.Sheet{
				Verdict: event.Verdict{Question: string(line), Answer: "{}", Edition: "1"},
				Legs:    []event.LegFound{{Links: 99, Reach: 3_012 * quantity.Millimetre}},
				Unseen:  "under the sleeve of leg 1", Method: "cleaned, hung, by eye and caliper", Instruments: []event.Instrument{{Name: "Caliper 7", Calibrated: on("2026-01-10")}, {Name: "Tape 2"}},
				Regime: event.Periodic, Decision: event.DecidedOut, Why: "worn at link 4", Repair: "new chain in leg 1", Danger: on("2026-03-02"), Tests: "no load test",
				Salvage: "master link and hook", Photos: []event.Photo{{1}}, Qualification: "Examiner of lifting gear", Employer: "Inspecting firm", Address: "9 Hill Street",
			},
		},
		Examiner: "I. Spector", At: 417, Hash: strings.Repeat("ab", 32), Signed: on("2026-03-03"), Superseded: &Later{Date: on("2026-09-01"), At: 990},
	}
}

// Every item of schedule 1 is there once, and says what was recorded (LOLER 1998
// schedule 1: items 1 to 8 seen, 9 to 11 from memory, not seen).
func TestEveryItem(t *testing.T) {
	r, err := Of(full(t))
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]string{}
	for _, s := range r.Sections {
		for _, i := range s.Items {
			if len(i.Says) == 0 || i.Name == "" {
				t.Errorf("%s %q says nothing", i.Law, i.Name)
			}
			if i.Law != "" && got[i.Law] != "" {
				t.Errorf("%s twice", i.Law)
			}
			got[i.Law] += strings.Join(i.Says, " ")
		}
	}
	for _, c := range []struct{ item, says string }{
		{"1", "Works Ltd 3 Quay Road"}, {"2", "Shed 2, Quay Road"},
		{"3", "Identification CS 12/4. Maker K. Alloy chain sling, EN, chain size 10, grade 80, 1 leg. Reach 3,000 mm (118.1102 in) when registered. Made 2019-04."},
		{"4", "1 Sep 2025"}, {"5", "3,150 kg (6,944 lb) at vertical, 1 leg."}, {"6", "No: it was in use here before."},
		{"7(a)", "Within the interval of 3 months that the rules of the crib (UK) give for severe service."}, {"6(b) and 7(b)", "No."},
		{"8(a)", "Link worn below the least thickness (leg 1, link 4): found 8.65 mm (0.3406 in), limit 9 mm (0.3544 in): out. "}, {"8(b)", "new chain in leg 1"}, {"8(c)", "2 Mar 2026"},
		{"8(d)", "None: the sling is not to be used."}, {"8(e)", "no load test"}, {"8(f)", "2 Mar 2026"},
		{"9", "I. Spector Examiner of lifting gear Inspecting firm, 9 Hill Street"}, {"10", "I. Spector"}, {"11", "3 Mar 2026"},
	} {
		if !strings.HasPrefix(got[loler(c.item)], c.says) {
			t.Errorf("item %s says\n%q, want\n%q", c.item, got[loler(c.item)], c.says)
		}
	}
	if want := "Leg 1: reach 3,012 mm (118.5827 in), 99 links."; got["DOE-STD-1090 11.3.3.2"] != want {
		t.Errorf("reach says %q", got["DOE-STD-1090 11.3.3.2"])
	}
	if want := "Out of service. worn at link 4 hung up and cleaned"; got["B30.9 9-1.9"] != want {
		t.Errorf("condition says %q", got["B30.9 9-1.9"])
	}
	if r.Safe || r.Verdict != "Not safe to operate: out of service" || r.Number != "417" || r.Standing != "Superseded by the report of 1 Sep 2026, at position 990 of the register." {
		t.Errorf("%+v", r)
	}
	if len(r.Measured) != 7 { // least and mean diameter, run, throat, twist, section, master
		t.Errorf("%d measurements: %+v", len(r.Measured), r.Measured)
	}
	for _, m := range r.Measured {
		if m.What == "" || m.Found == "" || m.Limit == "" || m.New == "" || m.Rule == "" {
			t.Errorf("%+v", m)
		}
	}
}

// What was not recorded says so: no item is left out, and nothing that was not looked
// at is said to be none.
func TestNothingRecorded(t *testing.T) {
	whole, err := Of(full(t))
	if err != nil {
		t.Fatal(err)
	}
	r, err := Of(Facts{Inspected: event.Inspected{Date: on("2026-03-02"), Outcome: tagcode.Fit, Service: due.Normal, Due: on("2027-03-02"), RatingTag: gate.TagLegible}, Examiner: "I. Spector"})
	if err != nil {
		t.Fatal(err)
	}
	names := func(r Report) (list []string) {
		for _, s := range r.Sections {
			for _, i := range s.Items {
				list = append(list, i.Law+i.Name)
			}
		}
		return slices.DeleteFunc(list, func(n string) bool { return strings.HasPrefix(n, "What may be saved") })
	}
	if !slices.Equal(names(r), names(whole)) {
		t.Errorf("items are\n%q, want\n%q", names(r), names(whole))
	}
	for _, s := range r.Sections {
		for _, i := range s.Items {
			if slices.Contains(i.Says, "None.") && i.Law != loler("8(b)") {
				t.Errorf("%s says that there is none, and nobody looked", i.Name)
			}
		}
	}
	if !r.Safe || r.Verdict != "Safe to operate until 2 Mar 2027" || r.Standing != "" {
		t.Errorf("%+v", r)
	}
	broken := full(t)
	broken.Inspected.Sheet.Verdict.Question = "{}"
	if _, err := Of(broken); err == nil {
		t.Error("what cannot be read was put into words")
	}
}

// What was measured stands in a report as it was measured, to the ten-thousandth of an
// inch; worn seats explain growth, and no more of it than there is; of two legs link for
// link stands the worst.
func TestMeasuredRows(t *testing.T) {
	mm := quantity.Millimetre
	list := []removal.Measure{
		{Kind: removal.LeastDiameter, Leg: 1, At: 1, New: 10 * mm, Found: 9_779, Limits: []removal.Limit{{Grade: removal.Out, At: 8_690}}},
		{Kind: removal.RunLength, Leg: 1, Links: 11, New: 330_200, Found: 330_200, Wear: 5_236},
		{Kind: removal.RunLength, Leg: 1, Links: 11, New: 330_200, Found: 330_708, Wear: 5_236, Limits: []removal.Limit{{Grade: removal.Hold, At: 335_153}}},
		{Kind: removal.LegsApart, Leg: 1, Other: 2, Links: 11, New: 330_200, Found: 330_454, Used: 50},
		{Kind: removal.LegsApart, Leg: 2, Other: 1, Links: 11, New: 330_200, Found: 330_708, Used: 100},
		{Kind: removal.LegsApart, Leg: 1, Other: 2, Links: 11, New: 330_200, Found: 330_200},
	}
	var got []string
	for _, r := range rows(quantity.Imperial, list) {
		got = append(got, r.What+": "+r.Found+"; "+r.Limit)
	}
	want := []string{
		"Leg 1, link 1: least diameter: 0.385 in (9.779 mm); 0.3422 in (8.69 mm): out",
		"Leg 1: length over 11 links: 13 in (330.2 mm); none without the dimension of the new part: held",
		"Leg 1: length over 11 links: 13.02 in (330.708 mm), grown by 0.02 in (0.508 mm), of which worn seats explain 0.02 in (0.508 mm); 13.195 in (335.153 mm): hold",
		"Leg 2 beside leg 1: length over 11 links, where they differ most: 13.02 in (330.708 mm); none without the dimension of the new part: held",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}
