package web

import (
	"testing"

	"cribgate/core/event"
	"cribgate/core/rating"
	"cribgate/kiosk/web/webtest"
)

// TestDayInBrowser: a lift is planned for today on the lift page, slings are proposed and
// set aside, the slip is there to be printed; its rigger's badge is scanned, the sling
// that is set aside is offered, scanned and handed over; another rigger who wants the
// other one is asked first.
func TestDayInBrowser(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	badge := k.badgeFor(k.rigger)
	id, tag := k.hanging("NS-0417", nil)
	_, kept := k.hanging("NS-0418", func(d *event.Details) { d.Sling.Plate = plateOf(t, "1/2", 2, rating.H60, 20_800) })
	k.hanging("NS-0419", func(d *event.Details) { d.Sling.Plate = plateOf(t, "3/8", 1, rating.Vertical, 7_100) })
	at := k.signedIn(k.attendant)
	at.plans(with(aLift(), "load", "19,000"), k.rigger, "gearbox, bay 1", 0)
	at.plans(with(aLift(), "load", "60,000"), k.rigger, "press frame, yard", 0)
	second := k.add("O. Ther", event.Rigger)
	p := k.opened(webtest.Start(t), k.attendant)
	press := func(selector string) { t.Helper(); p.Changes(func() { p.Click(selector) }) }
	p.Go(k.http.URL + "/counter/lift")
	for name, v := range aLift() {
		p.Answer(name, v[0])
	}
	press(`button[formaction="/day/plan"]`)
	p.Answer("day", k.today().String())
	p.Answer("back", "same")
	p.Answer("what", "pump, bay 3")
	p.Answer("rigger", k.rigger.Name)
	looks(t, p, "plan")
	press(`form[action="/day/planned"] button.first`)
	looks(t, p, "day-planned")
	press(`form[action$="/propose"] button`)
	looks(t, p, "day-proposed")
	press(`form[action$="/aside"] button.first`)
	looks(t, p, "day-set-aside")
	press(`.day a[href$="/slip"]`)
	if webtest.Eval[int](p, `document.querySelectorAll("[data-print]").length`) != 1 {
		t.Errorf("there is nothing to print the slip with: %s", p.Text("main"))
	}
	looks(t, p, "lift-slip")
	p.Go(k.http.URL + "/counter")
	scanned(p, badge)
	looks(t, p, "counter-planned")
	if lift := k.sling(id).Aside.Lift; lift.IsZero() {
		t.Fatal("nothing is set aside")
	} else {
		press(`button[value="` + lift.String() + `"]`)
	}
	scanned(p, tag)
	if got := verdictOf(p); got != MayGo {
		t.Fatalf("%q: %s", got, p.Text(".plate"))
	}
	press("main button.first")
	if s := k.sling(id); s.Loan.Rigger != k.rigger.ID {
		t.Errorf("not handed over: %s", p.Text("main"))
	}
	p.Go(k.http.URL + "/counter/rigger")
	press(`button[value="` + second.ID.String() + `"]`)
	p.Go(k.http.URL + "/counter/lift")
	for name, v := range with(aLift(), "load", "18,000") {
		p.Answer(name, v[0])
	}
	press("main button.first")
	scanned(p, kept)
	if got := verdictOf(p); got != LookCloser {
		t.Errorf("another rigger: %q: %s", got, p.Text(".plate"))
	}
	looks(t, p, "counter-set-aside")
	press(`button[name="aside"]:not([value="no"])`)
	if got := verdictOf(p); got != MayGo {
		t.Errorf("answered: %q: %s", got, p.Text(".plate"))
	}
}
