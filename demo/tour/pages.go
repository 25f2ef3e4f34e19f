package tour

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"path/filepath"

	"cribgate/demo/browser"
	"cribgate/demo/crib"
)

// atThePages does a part of the day through the pages, over HTTP on this
// machine, as a browser without scripts would.
func (d *day) atThePages() (err error) {
	if d.err != nil {
		return d.err
	}
	listener, err := listen(d.ctx)
	if err != nil {
		return fmt.Errorf("tour: %w", err)
	}
	ctx, stop := context.WithCancel(d.ctx)
	served := make(chan error, 1)
	go func() { served <- d.kiosk.Serve(ctx, listener) }()
	defer func() {
		stop()
		err = errors.Join(err, <-served)
	}()
	b, err := browser.New(d.ctx, "http://"+listener.Addr().String())
	if err != nil {
		return err
	}
	defer b.Close()
	d.visit(b)
	d.busy(b)
	return nil
}

// visit is what the attendant does at the pages.
func (d *day) visit(b *browser.Browser) {
	good, late := d.samples["good"], d.samples["overdue"]
	d.do(fmt.Sprintf("At a browser %s mistypes her PIN.", d.attendant.Name), func() (string, error) {
		p, err := b.Send("/sign-in", url.Values{"name": {d.attendant.Name}, "pin": {"918273"}})
		if err != nil {
			return "", err
		}
		return p.Text(browser.Wrong), p.Must(http.StatusUnprocessableEntity, "Name and PIN do not belong together")
	})
	d.do("She signs in and comes to the counter.", func() (string, error) {
		p, err := b.Send("/sign-in", url.Values{"name": {d.attendant.Name}, "pin": {d.attendant.PIN}})
		if err != nil {
			return "", err
		}
		return "The page is " + p.Path + ".", p.Must(http.StatusOK, d.attendant.Name)
	})
	d.do(fmt.Sprintf("She picks %s by name and states a lift: 5,000 lb, weighed, both legs, picks no further apart than a leg is long.", d.rigger.Name), func() (string, error) {
		if _, err := b.Fill("/counter/rigger", "/counter/rigger", url.Values{"rigger": {d.rigger.ID.String()}}); err != nil {
			return "", err
		}
		p, err := b.Fill("/counter/lift", "/counter/lift", url.Values{
			"load": {"5000"}, "unit": {"lb"}, "known": {"weighed"}, "special": {"no"}, "hitch": {"straight"}, "legs": {"2"},
			"angle": {"60"}, "centred": {"yes"}, "bears": {"nothing"}, "back": {d.today.AddDays(1).String()},
		})
		if err != nil {
			return "", err
		}
		return "The counter waits for a scan.", p.Must(http.StatusOK, d.rigger.Name)
	})
	d.do("She sends a picture of the overdue sling's tag.", func() (string, error) {
		files, err := crib.Draw(d.ctx, filepath.Join(d.dir, "tags"), []crib.Sample{late})
		if err != nil {
			return "", err
		}
		p, err := b.Upload("/counter", "/counter/picture", nil, "picture", files[0])
		if err != nil {
			return "", err
		}
		return p.Text(browser.VerdictWords) + ": " + p.Text(browser.Sentence), p.Verdict("stays-here")
	})
	d.do(fmt.Sprintf("The tag of %s is scanned.", good.Ident), func() (string, error) {
		p, err := b.Fill("/counter", "/counter/scan", url.Values{"text": {good.Text}, "way": {"scanner"}})
		if err != nil {
			return "", err
		}
		if err := p.Verdict("may-go"); err != nil {
			return "", err
		}
		return p.Text(browser.VerdictWords) + ".", nil
	})
	d.do("She hands it over.", func() (string, error) {
		p, err := b.Again("/counter/issue", url.Values{"typed": {ending(good.Ident)}})
		if err != nil {
			return "", err
		}
		s, err := d.sling(good.Ident)
		if err != nil {
			return "", err
		}
		if s.Loan.Rigger != d.rigger.ID {
			return "", fmt.Errorf("the page was sent, and the register does not have it out with %s: %s", d.rigger.Name, p.Text(browser.Sentence))
		}
		return fmt.Sprintf("The register has it out with %s, to be back by %s.", d.rigger.Name, s.Loan.ReturnBy), nil
	})
	d.do("In the afternoon it is scanned again: it is out, so the page asks what is seen of it, and what happened. All is well.", func() (string, error) {
		if _, err := b.Fill("/counter", "/counter/scan", url.Values{"text": {good.Text}, "way": {"scanner"}}); err != nil {
			return "", err
		}
		if _, err := b.Again("/counter/return", b.Now().AllWell("/counter/return")); err != nil {
			return "", err
		}
		s, err := d.sling(good.Ident)
		if err != nil {
			return "", err
		}
		if got := s.Details.Sling.State.String(); got != "in" {
			return "", fmt.Errorf("it is %s", got)
		}
		return "It hangs in its place again, " + s.Details.Place + ".", nil
	})
}
