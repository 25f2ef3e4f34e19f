package print_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"cribgate/core/tagcode"
	"cribgate/labeler/print"
)

// slipLine is a line of a slip for a lift that may be made; change replaces in it.
// 10,000 lb is what ASME B30.9 lists for two legs of 3/8 in grade 80 at 45°, as in
// the tables of core/rating: the lift asks for just that.
func slipLine(change ...string) string {
	return strings.NewReplacer(change...).Replace(
		`{"id":"CS-0417","slip":81,"name":"K. Dorn","crib":"North Sluice crib","what":"pump casing","now":"2026-04-01",` +
			`"sling":{"system":"us","grade":80,"size":"3/8","legs":2,"reach_mm":2400,"stamped":[{"legs":2,"basis":"h60","load_lb":12300}],` +
			`"rating_tag":"legible","state":"in","inspected":"2025-11-10","due":"2026-11-10"},` +
			`"lift":{"load_lb":10000,"legs":2,"angle":{"from":"horizontal","mdeg":50000},"centred":true,"return_by":"2026-04-03"}}`)
}

func TestASlipShowsWhatTheGateAnswered(t *testing.T) {
	key := key(t)
	slips, err := print.ReadSlips(strings.NewReader(slipLine()), key)
	if err != nil || len(slips) != 1 {
		t.Fatalf("%d slips, %v", len(slips), err)
	}
	until := date(t, "2026-04-03")
	want := tagcode.Slip{Key: key.Fingerprint(), Sling: tagcode.NumberOf(key.Fingerprint(), "CS-0417"), No: 81, Until: until}
	if s := slips[0]; s.Sealed.Slip != want || s.Sealed.Verify(key) != nil {
		t.Errorf("says %+v, want %+v", s.Sealed.Slip, want)
	}
	d, err := slips[0].Draw(stock(t, "slip"))
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{
		"CS-0417", "For K. Dorn", "North Sluice crib", "Made 1 Apr 2026", "3 Apr 2026", "Slip 81",
		"3/8 in  Grade 80  2 legs  7 ft 10 1/2 in", "Rated load 12,300 lb at 60° from horizontal",
		"pump casing, 10,000 lb", "two legs, straight, 50° from horizontal", "10,000 lb",
	} {
		if !slices.Contains(shown(d), text) {
			t.Errorf("%q is not on the slip: %q", text, shown(d))
		}
	}
	if back, err := tagcode.ParseSlip(d.Symbol.Text()); err != nil || back != slips[0].Sealed {
		t.Errorf("its symbol says %+v, %v", back, err)
	}
}

// What is required is rounded up and what is allowed down, in the units of the
// sling.
func TestASlipRoundsToTheSafeSide(t *testing.T) {
	key := key(t)
	for name, c := range map[string]struct {
		line              string
		required, allowed string
	}{
		"pounds, given in grams": {slipLine(`"load_lb":10000`, `"load_g":4535923`), "10,000 lb", "10,000 lb"},              // 9,999.998 lb
		"a margin":               {slipLine(`"load_lb":10000`, `"load_lb":9001,"margin_pct":10`), "9,902 lb", "10,000 lb"}, // 9,901.1 lb
		"kilograms": {slipLine(`"us"`, `"en"`, `"3/8"`, `"10"`, `"h60","load_lb":12300`, `"b45","load_g":4250000`,
			`"load_lb":10000`, `"load_g":4000400`, `"horizontal","mdeg":50000`, `"vertical","mdeg":45000`), "4,001 kg", "4,250 kg"},
	} {
		slips, err := print.ReadSlips(strings.NewReader(c.line), key)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		d, err := slips[0].Draw(stock(t, "slip"))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		texts := shown(d)
		at := slices.Index(texts, "Required")
		if at < 0 || texts[at+1] != c.required || texts[at+2] != "Allowed" || texts[at+3] != c.allowed {
			t.Errorf("%s: shows %q, want required %s and allowed %s", name, texts, c.required, c.allowed)
		}
	}
}

func TestSlipLinesRefused(t *testing.T) {
	key := key(t)
	for name, c := range map[string]struct {
		line, want string
		stays      bool
	}{
		"one pound too much":    {slipLine("10000", "10001"), "needs 10,001 lb and this sling may carry 10,000 lb", true},
		"overdue":               {slipLine("2026-11-10", "2026-03-31"), "was due on 31 Mar 2026", true},
		"due before return":     {slipLine("2026-11-10", "2026-04-02"), "falls due on 2 Apr 2026", true},
		"held":                  {slipLine(`"in"`, `"held"`), "held", true},
		"no rating tag":         {slipLine(`"legible"`, `"missing"`), "rating tag", true},
		"not centred":           {slipLine(`"centred":true`, `"centred":false`), "may carry 5,000 lb", true},
		"no return":             {slipLine(`,"return_by":"2026-04-03"`, ""), "slip.lift: does not say return_by", false},
		"no lift":               {slipLine(`"lift"`, `"lifts"`), "slip.lift: missing", false},
		"slip 0":                {slipLine(":81,", ":0,"), "slip.slip: ", false},
		"slip 2^32":             {slipLine(":81,", ":4294967296,"), "slip.slip: ", false},
		"identification":        {slipLine("CS-0417", "cs 417"), "slip.id: ", false},
		"name":                  {slipLine("K. Dorn", "K.  Dorn"), "slip.name: not 1 to 60", false},
		"crib":                  {slipLine("North Sluice crib", ""), "slip.crib: not 1 to 60", false},
		"what":                  {slipLine("pump casing", ""), "slip.what: not 1 to 60", false},
		"a name of the sling's": {slipLine(`"due":`, `"dew":`), `slip.sling: unknown name "dew"`, false},
		"own figures":           {slipLine(`"slip":81`, `"slip":81,"allowed_g":9000000`), `unknown name "allowed_g"`, false},
		"twice":                 {slipLine() + "\n" + slipLine(), "line 2: the same is there already: slip 81 of CS-0417 until 2026-04-03 is on line 1", false},
		"contradiction":         {slipLine(`"centred":true`, `"centred":true,"shortened":"cradled"`), "the sling is not adjustable", false},
	} {
		list, err := print.ReadSlips(strings.NewReader(c.line), key)
		var e *print.LineError
		if err == nil || list != nil || !errors.As(err, &e) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
		if errors.Is(err, print.ErrStays) != c.stays {
			t.Errorf("%s: %v stays: want %t", name, err, c.stays)
		}
	}
	// The same number for another day is another slip.
	other := slipLine("2026-04-03", "2026-04-04")
	if list, err := print.ReadSlips(strings.NewReader(slipLine()+"\n"+other), key); err != nil || len(list) != 2 {
		t.Errorf("two days: %d slips, %v", len(list), err)
	}
}
