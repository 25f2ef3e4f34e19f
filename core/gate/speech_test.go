package gate

import (
	"strings"
	"testing"

	"cribgate/core/due"
	"cribgate/core/quantity"
	"cribgate/core/trade"
)

// What a crib reads goes by its own law and in its own words: no US law or
// qualified person under UK and EN rules, no competent person or LOLER under US ones.
func TestEveryReasonUnderEveryRules(t *testing.T) {
	for rules, foreign := range map[due.Rules][]string{
		due.US:   {"competent person", "LOLER", "EN 818", "1915.112"},
		due.Yard: {"competent person", "LOLER", "EN 818", "1910.184(e)(3)"},
		due.EN:   {"qualified person", "LOLER", "CFR", "WAC", "B30.9"},
		due.UK:   {"qualified person", "CFR", "WAC", "B30.9"},
	} {
		words := trade.US
		if rules == due.EN || rules == due.UK {
			words = trade.UK
		}
		for _, r := range Reasons() {
			switch r {
			case TooHot, HeatScrapped, TooCold, AngleTooFlat, StampTooHigh, UnderRated, LiftIncomplete, HitchNotAllowed, NoStampedRating:
				continue // these follow the system that the sling is stamped by
			}
			text := r.Text(Answer{}, Speech{Units: quantity.Imperial, Words: words, Rules: rules})
			all := strings.Join([]string{text.Sentence, text.Next, text.Rule, text.InFull}, " | ")
			for _, f := range append(foreign, words.Foreign(all)...) {
				if strings.Contains(strings.ToLower(all), strings.ToLower(f)) {
					t.Errorf("%s under %s: %q in %s", r, rules, f, all)
				}
			}
			if text.Rule == "" || len(text.Rule) > len(text.InFull) || len(text.Rule) > 60 {
				t.Errorf("%s under %s: %q is no short form of %q", r, rules, text.Rule, text.InFull)
			}
		}
	}
}

// Each that differs from place to place has a clause of its own in each.
func TestUnder(t *testing.T) {
	for _, tt := range []struct {
		reason             Reason
		us, en, uk, yarded string
	}{
		{RatingTagUnfit, "29 CFR 1910.184(e)(1)", "EN 818-6, withdrawal from service", "LOLER, regulation 7", "29 CFR 1915.112"},
		{Held, "ASME B30.9, removal criteria", "EN 818-6, withdrawal from service", "LOLER, regulation 10(3)", "ASME B30.9, removal criteria"},
		{Retired, "29 CFR 1910.184(d)", "EN 818-6, withdrawal from service", "LOLER, regulation 10(3)", "29 CFR 1915.112"},
		{NeverInspected, "29 CFR 1910.184(e)(3)(ii)", "EN 818-6, inspection", "LOLER, regulation 11", "29 CFR 1915.112"},
		{Overdue, "29 CFR 1910.184(e)(3)(i)", "EN 818-6, inspection", "LOLER, regulation 9(3)", "29 CFR 1915.112"},
		{UnknownSling, "WAC, 296-155-55800", "EN 818-4, marking", "LOLER, schedule 1", "WAC, 296-155-55800"},
		{UnderRated, "29 CFR 1910.184(c)(4)", "EN 818-4, marking", "LOLER, regulation 7", "29 CFR 1915.112"},
		{AlreadyOut, "site policy", "site policy", "site policy", "site policy"},
	} {
		for rules, want := range map[due.Rules]string{due.US: tt.us, due.EN: tt.en, due.UK: tt.uk, due.Yard: tt.yarded} {
			if got := tt.reason.Text(Answer{}, Speech{Rules: rules}).Rule; got != want {
				t.Errorf("%s under %s: %q, want %q", tt.reason, rules, got, want)
			}
		}
	}
}
