package print_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/bounded"
	"cribgate/core/event"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
	"cribgate/labeler/print"
	"cribgate/labeler/sheet"
)

// drawName draws a name that can be kept, of letters that the fonts have and some
// that they have not.
func drawName(t *rapid.T, label string) string {
	letters := rapid.SampledFrom([]rune("aeinrstABCDW .-'éößŁ№漢"))
	name := string(rapid.SliceOfN(letters, 1, 60).Draw(t, label))
	if kept, err := event.CheckName(name); err == nil {
		return kept
	}
	return "X"
}

// TestBadgesAndSlipsAreWholeOrRefused draws lines: what is read is laid out with
// every word whole and the symbol it should have, or refused with the figure.
func TestBadgesAndSlipsAreWholeOrRefused(t *testing.T) {
	key := key(t)
	badge, slip := stock(t, "badge"), stock(t, "slip")
	seen := map[string]int{}
	drawn := func(t *rapid.T, kind string, d sheet.Drawing, err error, words ...string) {
		switch {
		case errors.Is(err, sheet.ErrFit) && strings.Contains(err.Error(), " mm"), errors.Is(err, sheet.ErrGlyph):
			seen[kind+" refused"]++
			return
		case err != nil:
			t.Fatalf("%s: %v", kind, err)
		}
		seen[kind]++
		for _, word := range words {
			if !slices.ContainsFunc(d.Texts, func(x sheet.Text) bool { return strings.Contains(x.String, word) }) {
				t.Errorf("%q is not on the %s: %q", word, kind, shown(d))
			}
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		name, crib, what := drawName(t, "name"), drawName(t, "crib"), drawName(t, "what")
		quoted := func(s string) string { return string(must(json.Marshal(s))) }
		line := badgeLine(`"K. Dorn"`, quoted(name), `"North Sluice crib"`, quoted(crib),
			"rigger", rapid.SampledFrom([]string{"attendant", "rigger", "inspector", "keeper"}).Draw(t, "role"),
			":2,", fmt.Sprintf(":%d,", rapid.IntRange(1, int(tagcode.MaxSerial)).Draw(t, "badge")))
		badges, err := print.ReadBadges(strings.NewReader(line), key)
		if err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		d, err := badges[0].Draw(badge)
		drawn(t, "badge", d, err, name, crib)
		if back, e := tagcode.ParseBadge(d.Symbol.Text()); err == nil && (e != nil || back != badges[0].Sealed) {
			t.Errorf("the symbol says %+v, %v", back, e)
		}

		size := rapid.SampledFrom(rating.Sizes(rating.US)).Draw(t, "size").String()
		line = slipLine(`"K. Dorn"`, quoted(name), `"North Sluice crib"`, quoted(crib), `"pump casing"`, quoted(what), `"3/8"`, quoted(size),
			`"load_lb":12300`, fmt.Sprintf(`"load_lb":%d`, rapid.IntRange(1000, 20_000).Draw(t, "stamped")),
			`"load_lb":10000`, fmt.Sprintf(`"load_lb":%d`, rapid.IntRange(1, 20_000).Draw(t, "load")))
		slips, err := print.ReadSlips(strings.NewReader(line), key)
		if errors.Is(err, print.ErrStays) {
			seen["slip that stays"]++
			return
		}
		if err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		if a := slips[0].Answer; !a.May() || a.Required > a.Allowed {
			t.Fatalf("a slip of %+v", a)
		}
		d, err = slips[0].Draw(slip)
		drawn(t, "slip", d, err, name, crib, what, "CS-0417", slips[0].Question.Sling.Size.Words())
		if back, e := tagcode.ParseSlip(d.Symbol.Text()); err == nil && (e != nil || back != slips[0].Sealed) {
			t.Errorf("the symbol says %+v, %v", back, e)
		}
	})
	for _, kind := range []string{"badge", "badge refused", "slip", "slip refused", "slip that stays"} {
		if seen[kind] == 0 {
			t.Errorf("%s: none was drawn: %v", kind, seen)
		}
	}
}

// FuzzLines holds whatever is read as a tag, a badge or a slip against the reader
// of its code; what is not read leaves nothing.
func FuzzLines(f *testing.F) {
	key := key(f)
	seeds := []string{line, badgeLine(), slipLine(), slipLine("10000", "10001"), badgeLine() + "\n" + badgeLine(), "{}\n\n[]"}
	if len(seeds) != 6 {
		f.Fatalf("%d seeds, want 6", len(seeds))
	}
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, lines string) {
		bounded.Run(t, time.Now, 64<<20, func() {
			texts := map[string]tagcode.Kind{}
			tags, err1 := print.ReadLines(strings.NewReader(lines), key, "")
			badges, err2 := print.ReadBadges(strings.NewReader(lines), key)
			slips, err3 := print.ReadSlips(strings.NewReader(lines), key)
			if err1 != nil && tags != nil || err2 != nil && badges != nil || err3 != nil && slips != nil {
				t.Errorf("%q: read beside an error", lines)
			}
			for _, x := range tags {
				texts[x.Sealed.Text()] = tagcode.KindTag
			}
			for _, x := range badges {
				texts[x.Sealed.Text()] = tagcode.KindBadge
			}
			for _, x := range slips {
				texts[x.Sealed.Text()] = tagcode.KindSlip
				if !x.Answer.May() {
					t.Errorf("%q: a slip for a lift that is refused", lines)
				}
			}
			if len(texts) != len(tags)+len(badges)+len(slips) {
				t.Errorf("%q: the same was made twice", lines)
			}
			for text, kind := range texts {
				if got, err := tagcode.KindOf(text); err != nil || got != kind {
					t.Errorf("%q: a %s reads as %q, %v", lines, kind, got, err)
				}
			}
		})
	})
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}
