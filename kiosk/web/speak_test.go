package web

import (
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/trade"
	"cribgate/store"
)

// What was typed or is spelled for machines, and where the lists themselves are
// chosen from, is in nobody's words.
var unspoken = regexp.MustCompile(`(?s)<p class="line">.*?</p>|pieces in the scrap bin|<input type="radio" name="words".*?</label>`)

var toldPattern = regexp.MustCompile(` (?:aria-label|title|alt|placeholder)="([^"]*)"`)

// told is everything that a page says, to those who see it and to those who hear it,
// but for its foot, which is the same everywhere.
func (a answer) told() string {
	body, _, _ := strings.Cut(a.body, `<footer class="foot">`)
	_, body, _ = strings.Cut(body, "<body")
	body = unspoken.ReplaceAllString(body, " ")
	var b strings.Builder
	for _, m := range toldPattern.FindAllStringSubmatch(body, -1) {
		b.WriteString(m[1] + "\n")
	}
	b.WriteString(tagPattern.ReplaceAllString(body, " "))
	return html.UnescapeString(b.String())
}

// TestWordsOfEveryPage goes through every page, and the counter with a sling of each
// kind: a crib reads none of the words of the other side of the ocean, and never of
// the person who decides there.
func TestWordsOfEveryPage(t *testing.T) {
	for _, tt := range []struct {
		rules due.Rules
		words event.WordList
		want  trade.List
		never string
	}{
		{due.US, 0, trade.US, "competent person"},
		{due.Yard, 0, trade.US, "competent person"},
		{due.UK, 0, trade.UK, "qualified person"},
		{due.EN, 0, trade.UK, "qualified person"},
		{due.US, event.WordsUK, trade.UK, "competent person"},
		{due.UK, event.WordsUS, trade.US, "qualified person"},
	} {
		k := newKioskUnder(t, tt.rules)
		policy := k.policy()
		policy.Words, policy.AskEvery = tt.words, 0
		k.setPolicy(policy)
		k.filled()
		pages := 0
		reads := func(where string, a answer) {
			t.Helper()
			pages++
			text := a.told()
			if !strings.Contains(a.body, `<html lang="`+tt.want.Lang()+`"`) {
				t.Errorf("%s, %s: not in %s", tt.rules, where, tt.want.Lang())
			}
			for _, word := range tt.want.Foreign(text) {
				t.Errorf("%s, %s: %q", tt.rules, where, around(text, word))
			}
			if strings.Contains(text, tt.never) {
				t.Errorf("%s, %s: %q", tt.rules, where, around(text, tt.never))
			}
		}
		for _, who := range []state.Person{k.keeper, k.inspector, k.attendant} {
			c := k.signedIn(who)
			for _, r := range routes() {
				if r.method == http.MethodGet && !strings.Contains(r.path, "{") && mayOpen(who, r.act) && r.act != actNothing {
					if a := c.get(r.path); a.status == http.StatusOK {
						reads(r.path, a)
					}
				}
			}
			for _, s := range k.slings() {
				for _, of := range []string{"", "/tag", "/correct"} {
					if a := c.get(slingPath(s) + of); a.status == http.StatusOK {
						reads(s.Details.Ident+of, a)
					}
				}
			}
		}
		c := k.signedIn(k.attendant)
		c.takes(k.rigger)
		c.lifts(aLift())
		reads("lift with complaints", c.send(c.get("/counter/lift"), "/counter/lift", url.Values{"load": {"x"}, "hitch": {"choke"}, "legs": {"2"}}))
		c.lifts(aLift())
		for _, s := range k.slings() {
			for _, tag := range s.Tags {
				reads("counter, "+s.Details.Ident, c.typeCode(k.short(s.ID, tag.Serial)))
			}
		}
		if pages < 50 {
			t.Errorf("%s: only %d pages were read", tt.rules, pages)
		}
	}
}

// slings are all that the register knows.
func (k *kiosk) slings() []state.Sling {
	k.t.Helper()
	list, _, err := k.store.List(k.t.Context(), store.Query{Limit: 100,
		States: []gate.State{gate.StateIn, gate.StateOut, gate.StateUnchecked, gate.StateHeld, gate.StateRetired, gate.StateLost}})
	if err != nil || len(list) == 0 {
		k.t.Fatalf("%d slings: %v", len(list), err)
	}
	return list
}

// around is a word with what stands before and behind it.
func around(text, word string) string {
	i := strings.Index(strings.ToLower(text), strings.ToLower(word))
	return strings.Join(strings.Fields(text[max(0, i-60):min(len(text), i+len(word)+40)]), " ")
}

// A rule is cited by the law that the crib goes by.
func TestRuleLineFollowsTheCrib(t *testing.T) {
	for rules, want := range map[due.Rules]string{
		due.US: "29 CFR 1910.184(e)(1)", due.Yard: "29 CFR 1915.112", due.UK: "LOLER, regulation 7", due.EN: "EN 818-6, withdrawal from service",
	} {
		k := newKioskUnder(t, rules)
		_, text := k.hanging("NS-0417", func(d *event.Details) { d.Sling.RatingTag = gate.TagMissing })
		c := k.signedIn(k.attendant)
		c.takes(k.rigger)
		c.lifts(aLift())
		if a := c.scan(text); a.verdict() != StaysHere || !strings.Contains(a.plateText(), want) {
			t.Errorf("%s: %s", rules, a.plateText())
		}
	}
}
