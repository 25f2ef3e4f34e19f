package web

import (
	"net/url"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/kiosk/web/webtest"
)

// reaching is a sling of 1/2 in, grade 80, with legs of a reach in feet, stamped by US
// OSHA, Guidance on Safe Sling Use, table 1.
func reaching(t *testing.T, legs int, feet quantity.Length, place string) func(*event.Details) {
	return func(d *event.Details) {
		load := int64(20_800)
		if legs > 2 {
			load = 31_200
		}
		d.Sling.Plate = plateOf(t, "1/2", legs, rating.H60, load)
		d.Sling.Reach, d.Place = (feet * quantity.Foot).Floor(quantity.Millimetre), place
	}
}

// placed answers the lift page by places, in feet: each row along, across, height; the
// last is the centre of gravity.
func placed(load, legs string, rows ...string) [][2]string {
	list := [][2]string{{"load", load}, {"unit", "lb"}, {"known", "weighed"}, {"special", "no"}, {"hitch", "straight"}, {"legs", legs},
		{"angle", byPlaces}, {"bears", "nothing"}, {"back", "2026-03-02"}}
	for i, row := range rows {
		name := "c"
		if i+1 < len(rows) {
			name = "p" + string(rune('1'+i))
		}
		at := strings.Fields(row)
		list = append(list, [2]string{name + "x", at[0]}, [2]string{name + "z", at[2]})
		if legs != "2" || name == "c" {
			list = append(list, [2]string{name + "y", at[1]})
		}
	}
	return list
}

// TestLiftFromThePhone: a rigger states a lift by places on a phone and takes the first
// sling that is offered; the lift waits at the counter, where the sling is scanned and
// issued for it. Phone and counter are open all the while, and each hears of the other.
func TestLiftFromThePhone(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	best, text := k.hanging("NS-0290", reaching(t, 2, 8, "B2"))
	k.hanging("NS-0311", reaching(t, 2, 12, "B3"))
	k.hanging("NS-0400", reaching(t, 2, 3, "B4"))
	b := webtest.Start(t)
	counter, phone := k.opened(b, k.attendant), k.opened(b, k.rigger)
	counter.Go(k.http.URL + "/counter/rigger")
	counter.Changes(func() { counter.Click(`button[value="` + k.rigger.ID.String() + `"]`) })

	phone.Size(390, 844)
	phone.Go(k.http.URL + "/lift")
	for _, a := range placed("9,000", "2", "0 0 4", "8 0 4", "3.8 0 0") {
		phone.Answer(a[0], a[1])
	}
	phone.Waits(`document.querySelector("#lift-seen [data-head]")?.textContent === "2 slings here would do"`)
	if got := phone.Text(".offers:not(.near) li .which a"); got != "NS-0290" {
		t.Errorf("first is %q", got)
	}
	looks(t, phone, "lift-phone")
	phone.Changes(func() { phone.Click(`.offers li:first-child button`) })
	if got := phone.Text("main .notice"); !strings.Contains(got, "waits at the counter") || !strings.Contains(got, "NS-0290 from B2") {
		t.Errorf("the phone says %q", got)
	}
	counter.Waits(`document.querySelector(".waits h2")?.textContent.startsWith("T. Brandt stated a lift at")`)
	looks(t, counter, "counter-waits")
	counter.Changes(func() { counter.Click(".waits button.first") })
	if got := counter.Text(".rail"); !strings.Contains(got, "Fetch NS-0290") {
		t.Errorf("the rail says %q", got)
	}
	phone.Waits(`!document.querySelector("main .notice")`)
	scanned(counter, text)
	if got := verdictOf(counter); got != MayGo {
		t.Fatalf("verdict %q: %s", got, counter.Text(".plate"))
	}
	looks(t, counter, "counter-by-places")
	counter.Changes(func() { counter.Click("main button.first") })
	sling := k.sling(best)
	if sling.Loan.Rigger != k.rigger.ID {
		t.Fatalf("not issued: %s", counter.Text(".plate"))
	}
	story, err := k.store.Story(t.Context(), event.Sling(best))
	if err != nil {
		t.Fatal(err)
	}
	issued, ok := story[len(story)-1].Body.(event.Issued)
	if !ok || !strings.Contains(issued.Verdict.Question, `"picks":[{"x_mm":0,"y_mm":0,"z_mm":1219},{"x_mm":2438,"y_mm":0,"z_mm":1219}]`) {
		t.Errorf("issued for %s", issued.Verdict.Question)
	}
	phone.Go(k.http.URL + "/lift")
	for _, a := range placed("9,000", "2", "0 0 4", "8 0 4", "3.8 0 0") {
		phone.Answer(a[0], a[1])
	}
	const head = `document.querySelector("#lift-seen [data-head]")?.textContent`
	phone.Waits(head + ` === "1 sling here would do"`)
	scanned(counter, text)
	counter.Changes(func() { counter.AllWell("main") })
	phone.Waits(head + ` === "2 slings here would do"`) // it came back

	// An answer that comes late is dropped: the first one here is held up by the page.
	webtest.Eval[bool](phone, `(() => {
	const real = globalThis.fetch;
	globalThis.held = null;
	globalThis.fetch = (to, how) => {
		if (globalThis.held || !String(to).includes("answer")) return real(to, how);
		const { signal, ...rest } = how; // an answer that cannot be called off
		return (globalThis.held = new Promise((done) => (globalThis.late = () => done(real(to, rest)))));
	};
	return true;
})()`)
	phone.Answer("load", "900")
	phone.Waits(`globalThis.held !== null`)
	phone.Answer("load", "900,000")
	phone.Waits(head + ` === "No sling here would do"`)
	webtest.Eval[bool](phone, `(globalThis.late(), globalThis.held.then(() => new Promise(requestAnimationFrame)).then(() => (globalThis.came = true)), true)`)
	phone.Waits(`globalThis.came === true`)
	if got := phone.Text("#lift-seen [data-head]"); got != "No sling here would do" {
		t.Errorf("a late answer was shown: %s", got)
	}

	// Where none comes, what stood here is taken away.
	webtest.Eval[bool](phone, `(globalThis.before = globalThis.fetch, globalThis.fetch = () => Promise.reject(new TypeError("no line")), true)`)
	phone.Answer("load", "900")
	phone.Waits(`document.querySelector("#lift-seen:not([aria-busy])")?.innerText.startsWith("No answer came.") && document.querySelector("#lift-seen").childElementCount === 1`)
	webtest.Eval[bool](phone, `(globalThis.fetch = globalThis.before, true)`)

	// By keyboard alone: from the last field on to the button of the first sling.
	phone.Answer("load", "9,000")
	phone.Waits(head + ` === "2 slings here would do"`)
	webtest.Eval[bool](phone, `(document.querySelector("details.ends summary").focus(), true)`)
	for range 12 {
		phone.Press(webtest.ByHand, webtest.Key{Key: "Tab", Code: "Tab"})
		if phone.Text(":focus") == "Take NS-0290 from B2" {
			break
		}
	}
	phone.Changes(func() { phone.Press(webtest.ByHand, webtest.US("\n")...) })
	if got := phone.Text("main .notice"); !strings.Contains(got, "NS-0290 from B2") {
		t.Errorf("by keyboard: %q", got)
	}
}

// TestLiftLooks takes pictures of lifts on two, three and four legs, level and tilted,
// and of one that cannot be.
func TestLiftLooks(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	policy := k.policy()
	policy.MarginPct, policy.MaxTilt = 10, 15*quantity.Degree
	k.setPolicy(policy)
	for i, legs := range []int{2, 3, 4, 2, 4} {
		k.hanging([]string{"NS-0201", "NS-0301", "NS-0401", "NS-0202", "NS-0402"}[i], reaching(t, legs, []quantity.Length{8, 8, 8, 12, 12}[i], "B"+string(rune('1'+i))))
	}
	p := k.opened(webtest.Start(t), k.attendant)
	for name, answers := range map[string][][2]string{
		"two-level":    placed("12,000", "2", "0 0 4", "8 0 4", "4 0 1"),
		"two-tilted":   placed("12,000", "2", "0 0 4", "8 0 4", "3.2 0.3 1"),
		"three-level":  placed("18,000", "3", "0 0 3", "8 0 3", "4 7 3", "4 2.333 1"),
		"three-tilted": placed("18,000", "3", "0 0 3", "8 0 3", "4 7 3.5", "3.6 2.8 1"),
		"four-level":   placed("25,000", "4", "0 0 3", "9 0 3", "9 6 3", "0 6 3", "4.5 3 1"),
		"four-tilted":  placed("25,000", "4", "0 0 3", "9 0 3", "9 6 3", "0 6 3", "4 3.4 1"),
		"would-roll":   placed("12,000", "2", "0 0 4", "8 0 4", "4 0 5"),
		"too-flat":     placed("12,000", "2", "0 0 4", "22 0 4", "11 0 1"),
	} {
		p.Go(k.http.URL + liftPath + "?anew")
		for _, a := range answers {
			p.Answer(a[0], a[1])
		}
		want := `document.querySelector("#lift-seen svg")`
		if name == "would-roll" {
			want = `document.querySelector("#lift-seen .still")?.innerText.includes("would roll over")`
		}
		p.Waits(want)
		if name != "would-roll" && name != "too-flat" && !strings.Contains(p.Text("#lift-seen"), "here would do") {
			t.Errorf("%s: %s", name, p.Text("#lift-seen"))
		}
		looks(t, p, "lift-"+name)
	}
}

// byPlacesOf is a lift by places as the page sends it.
func byPlacesOf(answers [][2]string) url.Values {
	v := url.Values{"length-unit": {"ft"}}
	for _, a := range answers {
		v.Set(a[0], a[1])
	}
	return v
}
