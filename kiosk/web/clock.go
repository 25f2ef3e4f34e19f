package web

import (
	"errors"
	"net/http"
	"slices"
	"time"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/desk"
	"cribgate/store"
)

const clockPath = "/clock"

// ClockPage shows what the clock says and what the register says, and is where
// keeper and inspector sign that the clock is right.
type ClockPage struct {
	Base
	Says  string // in a word or two
	Lead  string
	Facts []Fact
	Steps []string // what to do, in order; none where nothing is in doubt
	Sign  SignForm
	Past  []PastDoubt
}

// SignForm is signed by two people. The zero value is not shown.
type SignForm struct {
	Title     string
	Sentence  string // what the two sign
	Shown     string // what the clock said, for the register
	Behind    bool
	Keeper    Signer
	Inspector Signer
	Error     string
}

// A Signer is one of the two: who, and the PIN.
type Signer struct {
	Who Choice
	PIN Field
}

// PastDoubt is one time that two people signed.
type PastDoubt struct {
	When string
	What string
	Who  string
	Mark string // why whoever looks back is to see it
}

// doubtSentence says on every page that the clock is in doubt; nothing where it
// is not.
func doubtSentence(c store.Clock) string {
	switch {
	case c.Doubt == event.ClockSure:
		return ""
	case c.Behind():
		return "The clock of this computer is behind the register. Nothing goes out; take slings back and hold them as usual."
	}
	return "The clock of this computer leapt by more than a day. Nothing goes out until the date is confirmed; take slings back and hold them as usual."
}

func (s *Server) clockPage(v *visit) error {
	return s.renderClock(v, http.StatusOK, event.Signed{Keeper: v.who.ID, Inspector: v.who.ID}, signFaults{})
}

// signFaults is what is wrong with what was sent, for each place.
type signFaults struct{ form, keeper, inspector, keeperPIN, inspectorPIN string }

func (s *Server) renderClock(v *visit, status int, signed event.Signed, wrong signFaults) error {
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	p := &ClockPage{Base: Base{Title: "Clock"}, Says: "Clock and register agree", Lead: "Nothing to do."}
	p.Facts = []Fact{
		{Label: "This computer’s clock says", Value: w.moment(v.clock.Reads)},
		{Label: "By the register it is", Value: "at least " + w.moment(v.clock.Floor)},
		{Label: "Newest entry", Value: w.moment(v.clock.Newest)},
	}
	if v.clock.Doubt != event.ClockSure {
		if err := s.askToSign(v, p, w, signed, wrong); err != nil {
			return err
		}
	}
	if p.Past, err = s.pastDoubts(v, w); err != nil {
		return err
	}
	return s.render(v, status, "clock", p)
}

func (s *Server) askToSign(v *visit, p *ClockPage, w words, signed event.Signed, wrong signFaults) error {
	people, err := s.Store.People(v.r.Context())
	if err != nil {
		return err
	}
	c := v.clock
	p.Says, p.Lead = "The clock leapt", "Nothing goes out until two people have confirmed the date. What comes back is taken in and held as usual; its time is entered as not sure."
	look := "Look at a clock you trust: a telephone, or the wall of the office."
	p.Steps = []string{look,
		"If this computer’s clock is wrong, set it right in the computer’s own settings and open this page again. The date is signed then, all the same: nobody knows what the clock said in between.",
		"If it is right, a keeper and an inspector sign here, each with their own PIN. Slings go out again at once.",
	}
	p.Sign = SignForm{Title: "The date is right", Sentence: "Today is " + c.Local(c.Reads).Format("Monday, 2 January 2006, 15:04") + "."}
	apart := c.Reads.Sub(c.Floor)
	label := "The clock is ahead by"
	if c.Behind() {
		p.Says = "The clock is behind"
		p.Steps = []string{look,
			"If this computer’s clock is wrong, set it right in the computer’s own settings. Nothing needs to be signed then, and slings go out again.",
			"If it is right, the newest entries were made by a clock that was wrong. A keeper and an inspector sign here, each with their own PIN; the register goes on from this time, and the entries keep the time they have.",
		}
		p.Sign.Title, p.Sign.Behind = "The clock is right, and the register was ahead", true
		label, apart = "The clock is behind by", -apart
	}
	if apart > store.Slack {
		p.Facts = append(p.Facts, Fact{Label: label, Value: spanWords(apart), Over: true})
	}
	p.Sign.Shown = c.Reads.UTC().Format(event.TimeLayout)
	p.Sign.Error = wrong.form
	p.Sign.Keeper = signer(people, v.today, event.Keeper, "keeper", "Keeper", signed.Keeper, wrong.keeper, wrong.keeperPIN)
	p.Sign.Inspector = signer(people, v.today, event.Inspector, "inspector", "Inspector", signed.Inspector, wrong.inspector, wrong.inspectorPIN)
	if v.crib.Founded.Policy.OnePerson {
		p.Sign.Sentence += " This crib has one person: the same one may sign twice, and it is marked."
	}
	return nil
}

func signer(people []state.Person, on quantity.Date, role event.Roles, name, legend string, chosen event.PersonID, wrong, wrongPIN string) Signer {
	who := Choice{Name: name, Legend: legend, Error: wrong}
	for _, p := range people {
		if p.May(role, on) {
			who.Options = append(who.Options, Option{Value: p.ID.String(), Label: p.Name, On: p.ID == chosen})
		}
	}
	if len(who.Options) == 1 {
		who.Options[0].On = true
	}
	return Signer{Who: who, PIN: Field{Name: name + "-pin", Label: "PIN of the " + name, Type: "password", Mode: "numeric", Error: wrongPIN,
		Complete: "off", Most: desk.MaxDigits, Needed: true}}
}

// pastDoubts lists what was signed before, the newest first.
func (s *Server) pastDoubts(v *visit, w words) ([]PastDoubt, error) {
	story, err := s.Store.Story(v.r.Context(), event.Crib())
	if err != nil {
		return nil, err
	}
	var list []PastDoubt
	add := func(r store.Record, signed event.Signed, what string) {
		past := PastDoubt{When: w.moment(r.Envelope.UTC), What: what, Who: w.name(signed.Keeper) + " and " + w.name(signed.Inspector)}
		if signed.Alone() {
			past.Who, past.Mark = w.name(signed.Keeper), "One person signed for both."
		}
		list = append(list, past)
	}
	for _, r := range story {
		switch b := r.Body.(type) {
		case event.DateConfirmed:
			add(r, b.Signed, "The date was confirmed. By the register it had been at least "+w.moment(b.Floor)+".")
		case event.ClockCorrected:
			add(r, b.Signed, "The register was set back. It had counted "+w.moment(b.Floor)+".")
		}
	}
	slices.Reverse(list)
	return list, nil
}

// vouch records that two people found the clock right. Each proves with a PIN who
// they are, whoever is signed in on this screen.
func (s *Server) vouch(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	shown, err := time.Parse(event.TimeLayout, v.raw("shown"))
	if err != nil {
		return &Visible{Code: BadInput, Sentence: "The form was sent without what the clock said.", Next: "Load the page again and sign once more."}
	}
	var wrong signFaults
	var signed event.Signed
	if signed.Keeper, wrong.keeper, wrong.keeperPIN, err = s.signs(v, "keeper", event.Keeper); err != nil {
		return err
	}
	if signed.Inspector, wrong.inspector, wrong.inspectorPIN, err = s.signs(v, "inspector", event.Inspector); err != nil {
		return err
	}
	if wrong != (signFaults{}) {
		return s.renderClock(v, http.StatusUnprocessableEntity, signed, wrong)
	}
	err = s.Counter.Vouch(v.r.Context(), v.by(counter.Hand, key), counter.Vouching{Shown: shown, Behind: v.raw("behind") == "yes", Signed: signed})
	switch {
	case errors.Is(err, counter.ErrClockSure):
		s.notice(v, "Clock and register agree. Nothing needed to be signed.")
		return v.redirect(clockPath)
	case errors.Is(err, counter.ErrClockMoved):
		return s.renderClock(v, http.StatusConflict, signed, signFaults{form: "The clock says something else by now, and nothing was signed. Look at it again."})
	case errors.Is(err, counter.ErrSigners):
		return s.renderClock(v, http.StatusUnprocessableEntity, signed, signFaults{form: "Two people sign: a keeper, and an inspector who is not that keeper."})
	case err != nil:
		return err
	}
	s.notice(v, "Signed. Slings go out again.")
	return v.redirect(clockPath)
}

// signs reads who signs in one place of the form, and proves it.
func (s *Server) signs(v *visit, name string, role event.Roles) (who event.PersonID, wrong, wrongPIN string, err error) {
	ctx := v.r.Context()
	who, err = event.ParsePersonID(v.raw(name))
	if err != nil {
		return event.PersonID{}, "Say who signs.", "", nil
	}
	p, err := s.Store.Person(ctx, who)
	if errors.Is(err, store.ErrNotFound) || err == nil && !p.May(role, v.today) {
		return event.PersonID{}, "This is nobody who may sign here.", "", nil
	}
	if err != nil {
		return event.PersonID{}, "", "", err
	}
	standing, err := s.Desk.Standing(ctx, who.String())
	if err != nil {
		return event.PersonID{}, "", "", err
	}
	if standing.OneTime {
		return who, "", p.Name + " has a one-time PIN: sign in once and choose another first.", nil
	}
	err = s.Desk.Verify(ctx, who.String(), v.raw(name+"-pin"))
	if err == nil {
		return who, "", "", nil
	}
	if problem, _ := signInProblem(err); problem != "" {
		return who, "", problem, nil
	}
	return event.PersonID{}, "", "", err
}

// moment is a time to the minute with its day of the week, by which people see
// soonest that it is wrong.
func (w words) moment(t time.Time) string { return t.In(w.zone).Format("Mon 2 Jan 2006, 15:04") }

// spanWords says how long a time is, in its two largest units.
func spanWords(d time.Duration) string {
	d = d.Truncate(time.Minute)
	days, hours, minutes := int(d/(24*time.Hour)), int(d/time.Hour)%24, int(d/time.Minute)%60
	switch {
	case days > 0 && hours > 0:
		return plural(days, "day") + " " + plural(hours, "hour")
	case days > 0:
		return plural(days, "day")
	case hours > 0 && minutes > 0:
		return plural(hours, "hour") + " " + plural(minutes, "minute")
	case hours > 0:
		return plural(hours, "hour")
	}
	return plural(minutes, "minute")
}
