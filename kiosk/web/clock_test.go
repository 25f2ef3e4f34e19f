package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/kiosk/web/webtest"
)

// signs is the form of the clock page as it is sent.
func (k *kiosk) signs(page answer, change ...string) url.Values {
	v := url.Values{
		"key": {newKey()}, "shown": {value(page, "shown")}, "behind": {value(page, "behind")},
		"keeper": {k.keeper.ID.String()}, "keeper-pin": {testPIN}, "inspector": {k.inspector.ID.String()}, "inspector-pin": {testPIN},
	}
	for i := 0; i < len(change); i += 2 {
		v.Set(change[i], change[i+1])
	}
	return v
}

func value(page answer, name string) string {
	_, rest, _ := strings.Cut(page.body, `name="`+name+`" value="`)
	v, _, _ := strings.Cut(rest, `"`)
	return v
}

// The page says what the clock says, and that nothing needs to be done.
func TestClockAgrees(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.rigger)
	page := c.get(clockPath)
	if page.status != http.StatusOK || !page.has("Clock and register agree") || !page.has("Mon 2 Mar 2026, 20:30") || page.has("keeper-pin") || !page.has("Never.") {
		t.Errorf("%d %s", page.status, page.main())
	}
	k.signedIn(k.keeper)
	k.signedIn(k.inspector)
	if a := c.post(clockPath, k.signs(page, "shown", "2026-03-03T02:30:00.000Z")); a.status != http.StatusSeeOther || !c.get(clockPath).has("Nothing needed to be signed") {
		t.Errorf("signed for nothing: %d %s", a.status, a.words())
	}
	if a := c.post(clockPath, url.Values{"key": {newKey()}}); a.status != http.StatusUnprocessableEntity && a.status != http.StatusBadRequest {
		t.Errorf("an empty form: %d", a.status)
	}
}

// Both sign on one page, each with their own PIN, and slings go out again.
func TestClockIsSigned(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, says, sentence, past string
		off                        time.Duration
	}{
		{"leapt", "The clock leapt", "leapt by more than a day", "The date was confirmed.", 3 * 24 * time.Hour},
		{"behind", "The clock is behind", "is behind the register", "The register was set back.", -3*24*time.Hour - time.Hour},
	} {
		t.Run(c.name, func(t *testing.T) {
			k := newKiosk(t)
			_, text := k.hanging("NS-0417", nil)
			k.signedIn(k.keeper)
			k.signedIn(k.inspector)
			a := k.signedIn(k.attendant)
			a.takes(k.rigger)
			k.off.Store(int64(c.off))
			if page := a.get("/counter"); !page.has(c.sentence) || !page.has(`href="/clock"`) {
				t.Errorf("the counter does not say so: %s", page.words())
			}
			a.lifts(with(aLift(), "day", "2026-03-09"))
			if page := a.scan(text); page.verdict() != StaysHere {
				t.Errorf("%q %s", page.verdict(), page.plateText())
			}
			page := a.get(clockPath)
			if !page.has(c.says) || !page.has("3 days") || page.has(`class="wrong big doubt"`) {
				t.Fatalf("%s", page.main())
			}
			for _, wrong := range []struct {
				says   string
				change []string
			}{
				{"Name and PIN do not belong together", []string{"keeper-pin", "111222"}},
				{"Name and PIN do not belong together", []string{"inspector-pin", ""}},
				{"This is nobody who may sign here", []string{"inspector", k.attendant.ID.String()}},
				{"This is nobody who may sign here", []string{"keeper", k.inspector.ID.String()}},
				{"Say who signs", []string{"keeper", ""}},
				{"The clock says something else by now", []string{"shown", "2026-01-01T00:00:00.000Z"}},
			} {
				if got := a.post(clockPath, k.signs(page, wrong.change...)); got.status < 400 || !got.has(wrong.says) {
					t.Errorf("%v: %d %s", wrong.change, got.status, got.words())
				}
			}
			form := k.signs(page)
			if got := a.post(clockPath, form); got.status != http.StatusSeeOther {
				t.Fatalf("%d %s", got.status, got.main())
			}
			page = a.get(clockPath)
			if !page.has("Clock and register agree") || !page.has(c.past) || !page.has("S. Quill and O. Vance") {
				t.Errorf("%s", page.main())
			}
			if got := a.post(clockPath, form); got.status != http.StatusSeeOther { // sent twice
				t.Errorf("again: %d %s", got.status, got.words())
			}
			if page := a.get("/counter"); page.has(c.sentence) {
				t.Errorf("the counter still says so: %s", page.words())
			}
			story, err := k.store.Story(t.Context(), event.Crib())
			if err != nil || len(story) != 3 {
				t.Errorf("%d entries on the crib, %v", len(story), err)
			}
		})
	}
}

// In a crib of one person one may sign twice, and it is marked; elsewhere not.
func TestClockSignedAlone(t *testing.T) {
	t.Parallel()
	for _, one := range []bool{false, true} {
		k := newKiosk(t)
		k.signedIn(k.keeper)
		p := k.policy()
		p.OnePerson = one
		k.setPolicy(p)
		if err := k.server.Counter.ChangePerson(t.Context(), k.byKeeper(), k.keeper.ID, k.person(k.keeper.ID).Heads,
			event.PersonChanged{Name: k.keeper.Name, Roles: event.Keeper | event.Inspector, Here: true}); err != nil {
			t.Fatal(err)
		}
		k.off.Store(int64(48 * time.Hour))
		a := k.signedIn(k.keeper)
		got := a.post(clockPath, k.signs(a.get(clockPath), "inspector", k.keeper.ID.String()))
		if page := a.get(clockPath); one != (got.status == http.StatusSeeOther) || one != page.has("One person signed for both.") {
			t.Errorf("crib of one %t: %d %s", one, got.status, page.words())
		}
	}
}

// What was entered in doubt is told so in the story.
func TestClockInTheStory(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	if page := c.get("/rack/NS-0417"); page.has("the time is not sure") {
		t.Error("without a doubt")
	}
	k.off.Store(int64(-time.Hour))
	k.holds(id, "bent")
	if page := c.get("/rack/NS-0417"); !page.has("the time is not sure") {
		t.Errorf("%s", page.words())
	}
}

// TestClockLooks measures the page and takes its pictures.
func TestClockLooks(t *testing.T) {
	k := newKiosk(t)
	k.signedIn(k.inspector)
	p := k.opened(webtest.Start(t), k.keeper)
	p.Go(k.http.URL + clockPath)
	looks(t, p, "clock-agrees")
	p.Go("about:blank") // an open page would be loaded again by itself, and say so
	k.off.Store(int64(62 * time.Hour))
	if err := k.server.Tell(t.Context()); err != nil {
		t.Fatal(err)
	}
	p.Go(k.http.URL + clockPath)
	if got := p.Text("h2"); got != "The clock leapt" {
		t.Errorf("it says %q", got)
	}
	looks(t, p, "clock")
	p.Go(k.http.URL + "/people")
	looks(t, p, "clock-doubt-elsewhere")
	p.Go(k.http.URL + clockPath)
	p.Answer("keeper", k.keeper.ID.String())
	p.Answer("inspector", k.inspector.ID.String())
	p.Type("#f-keeper-pin", testPIN)
	p.Type("#f-inspector-pin", testPIN)
	p.Follow("main form.sheet button.first")
	if got := p.Text("h2"); got != "Clock and register agree" {
		t.Errorf("signed, and it says %q", got)
	}
	looks(t, p, "clock-signed")
	k.off.Store(int64(-time.Hour))
	p.Go(k.http.URL + clockPath)
	if got := p.Text("h2"); got != "The clock is behind" {
		t.Errorf("it says %q", got)
	}
	looks(t, p, "clock-behind")
}

func TestSpanWords(t *testing.T) {
	for d, want := range map[time.Duration]string{
		3 * time.Minute: "3 minutes", time.Minute: "1 minute", 59*time.Minute + 59*time.Second: "59 minutes", time.Hour: "1 hour",
		61 * time.Minute: "1 hour 1 minute", 24 * time.Hour: "1 day", 25*time.Hour + 30*time.Minute: "1 day 1 hour",
		9 * 365 * 24 * time.Hour: "3285 days",
	} {
		if got := spanWords(d); got != want {
			t.Errorf("%s: %q, want %q", d, got, want)
		}
	}
}
