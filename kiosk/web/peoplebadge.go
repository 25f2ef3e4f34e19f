package web

import (
	"bytes"
	"errors"
	"net/http"
	"strconv"

	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
	"cribgate/labeler/print"
	"cribgate/printtemplates"
	"cribgate/store/keyring"
)

// badgeStock is the stock that badges are printed on.
const badgeStock = "badge"

// PersonPage shows what holds for one person, and the badge.
type PersonPage struct {
	Base
	Name  string
	Facts []Fact
	Badge BadgePart
	Terms TermsForm
}

// A BadgePart is the newest badge of a person and what can be done about it.
type BadgePart struct {
	Serial string   // empty: none was printed
	Until  string   // what it says of its end
	Ended  bool     // its last day is over
	Files  []Action // where it can be had
	Path   string   // where the next one is printed; empty: not now
	Next   string   // serial of the next one
}

func personPath(p state.Person) string { return "/people/" + p.ID.String() }

func (s *Server) personPage(v *visit) error {
	who, err := s.personAsked(v)
	if err != nil {
		return err
	}
	if !who.Here || who.Doubt != 0 {
		return errNoPage
	}
	return s.renderPerson(v, http.StatusOK, who, &PersonPage{Terms: termsForm(who, who.Terms, "", nil)})
}

func (s *Server) renderPerson(v *visit, status int, who state.Person, p *PersonPage) error {
	p.Title, p.Name = who.Name, who.Name
	p.Facts = []Fact{{Label: "Does here", Value: who.Roles.String()}, {Label: "Last day", Value: endWords(who, v)}}
	p.Badge = badgePart(v, who)
	return s.render(v, status, "person", p)
}

// endWords says when a person's days are over.
func endWords(who state.Person, v *visit) string {
	switch {
	case who.Terms.Until.IsZero():
		return "without an end"
	case who.Ended(v.today):
		return who.Terms.Until.Long() + ", over: may do nothing"
	}
	return who.Terms.Until.Long()
}

func badgePart(v *visit, who state.Person) BadgePart {
	part := BadgePart{}
	if next, ok := who.NextBadge(v.crib.Key()); ok && !who.Ended(v.today) {
		part.Path, part.Next = personPath(who)+"/badge", itoa(int(next.Serial))
	}
	b, printed := who.Printed()
	if !printed {
		return part
	}
	part.Serial, part.Until = itoa(int(b.Serial)), "Good without an end, while its person is here"
	if !b.Until.IsZero() {
		part.Until = "Good until " + b.Until.Long()
		if part.Ended = b.Until.Before(v.today); part.Ended {
			part.Until = "Was good until " + b.Until.Long()
		}
	}
	if part.Ended {
		return part
	}
	for _, format := range []print.Format{print.PDF, print.PNG, print.SVG} {
		f := tagFormats[format]
		part.Files = append(part.Files, Action{Label: f.label, Sub: f.sub, First: format == print.PDF,
			Path: personPath(who) + "/badge/" + part.Serial + string(format)})
	}
	return part
}

// printBadge draws the next badge of a person.
func (s *Server) printBadge(v *visit) error {
	who, err := s.personAsked(v)
	if err != nil {
		return err
	}
	key, err := v.key()
	if err != nil {
		return err
	}
	return s.drawBadge(v, who, key)
}

// drawBadge records the next badge of a person, which can then be had as a file.
func (s *Server) drawBadge(v *visit, who state.Person, key string) error {
	_, arrived, err := s.Store.Answered(v.r.Context(), key)
	if err != nil {
		return err
	}
	if arrived {
		return v.redirect(personPath(who))
	}
	stock, err := printtemplates.Open(badgeStock)
	if err != nil {
		return err
	}
	badge, err := print.NextBadge(v.crib, who, s.Keys)
	if err == nil {
		_, err = badge.Draw(stock) // so that nothing is recorded that cannot be drawn
	}
	switch {
	case errors.Is(err, keyring.ErrNoKey):
		return &Visible{Code: Unusable, Cause: err, Sentence: "The key that seals badges is not on this machine.", Next: "Put the key back, or print the badge where it is."}
	case errors.Is(err, print.ErrNotHere), errors.Is(err, print.ErrDoubt), errors.Is(err, print.ErrBadgeSerials):
		return &Visible{Code: BadInput, Cause: err, Sentence: who.Name + " gets no badge as the record stands.", Next: "Look at the people page."}
	case err != nil:
		return err
	}
	err = s.Counter.PrintBadge(v.r.Context(), v.by(counter.Hand, key), who.ID, badge.Printed(stock))
	if errors.Is(err, counter.ErrBadge) {
		return &Visible{Code: Stale, Cause: err, Sentence: "Changed meanwhile: no badge was printed.", Next: "Look at the person’s page again, then print."}
	}
	if err != nil {
		return registerError(err)
	}
	s.notice(v, "Badge "+itoa(int(badge.Sealed.Serial))+" of "+who.Name+" is drawn and known to the register. Print it now; any badge from before is no longer good.")
	return v.redirect(personPath(who))
}

// badgeFile gives the newest badge of a person as a file, the same however often it
// is fetched.
func (s *Server) badgeFile(v *visit) error {
	who, err := s.personAsked(v)
	if err != nil {
		return err
	}
	name := v.r.PathValue("file")
	format, err := print.FormatOf(name)
	if err != nil {
		return errNoPage
	}
	b, printed := who.Printed()
	if !printed || !good(b, v) || !who.Here || name != strconv.Itoa(int(b.Serial))+string(format) {
		return &Visible{Code: NoPage, Sentence: "This badge is no longer good, so there is no file of it.", Next: "Print the next one on the person’s page."}
	}
	badge, err := print.BadgeAgain(v.crib, who, s.Keys)
	if errors.Is(err, keyring.ErrNoKey) || errors.Is(err, print.ErrChanged) {
		return &Visible{Code: Unusable, Cause: err, Sentence: "This badge cannot be drawn again here.", Next: "Print the next one on the person’s page."}
	}
	if err != nil {
		return err
	}
	stock, err := printtemplates.Open(badgeStock)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	if err := (print.Job{Stock: stock, DPI: tagDPI}).StreamBadges(v.r.Context(), &out, format, badge); err != nil {
		return err
	}
	v.w.Header().Set("Content-Type", tagFormats[format].kind)
	v.w.Header().Set("Content-Disposition", `attachment; filename="badge-`+name+`"`)
	if _, err := out.WriteTo(v.w); err != nil {
		s.Log.InfoContext(v.r.Context(), "answer not delivered", "id", v.id, "error", err)
	}
	return nil
}

// good tells whether a badge is good on the day of the visit.
func good(b tagcode.Badge, v *visit) bool { return b.Until.IsZero() || !b.Until.Before(v.today) }
