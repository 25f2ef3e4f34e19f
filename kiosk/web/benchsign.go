package web

import (
	"errors"
	"maps"
	"net/http"
	"slices"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/desk"
)

// SignSheet is the last step: what is decided, and the PIN that signs it.
type SignSheet struct {
	Path     string // empty: this is another step
	Whole    string
	Decision Choice
	Narrow   string // why some decisions are not offered
	Service  Choice
	Months   Field
	Due      DueSays
	Sooner   Field
	Why      Area
	Repair   Area
	Danger   Field
	Tests    Area
	Salvage  Area
	PIN      Field
	Who      string
	Drop     string // where the draft is thrown away
}

var decisionWords = map[event.Decision][2]string{
	event.DecidedFit:     {"Fit", "due again by its service"},
	event.DecidedShorter: {"Fit, and due sooner", "you say by when"},
	event.DecidedHold:    {"Held", ""},
	event.DecidedRepair:  {"To the maker, or a repairer", "held until it is back and inspected again"},
	event.DecidedOut:     {"Out of service", "it never lifts again"},
}

// mayDecide gives the decisions that are open, and why the others are not.
func (b *benchPage) mayDecide() (list []event.Decision, narrow string) {
	_, a, err := b.assessed()
	if err != nil {
		return event.Decisions()[2:], "What is recorded of this sling cannot be judged, so it cannot be fit."
	}
	list = counter.MayDecide(a.Verdict)
	metal, err := counter.Metal(b.sling, b.v.crib.Founded.Policy, b.v.today)
	fitOpen := slices.Contains(list, event.DecidedFit)
	switch {
	case fitOpen && (err != nil || len(metal) > 0):
		return counter.MayDecide(removal.Held), "What is stamped on it stands against it, so it cannot be fit."
	case fitOpen && len(b.todo()) > 0:
		return counter.MayDecide(removal.Held), "It can be fit once everything is measured and answered: see what is still to do."
	case fitOpen:
		return list, ""
	case a.Verdict == removal.OutOfService:
		return list, "By what was found it leaves service, so it is neither fit nor only held."
	}
	return list, "By what was found and what is still to do it cannot be fit. A decision may be graver than what was found, never milder."
}

func (b *benchPage) sign(path, whole string) (SignSheet, error) {
	f := func(name string) string { return b.fields[name] }
	area := func(name, label, hint string) Area {
		return Area{Name: name, Label: label, Hint: hint, Value: f(name), Error: b.wrong[name], Most: maxText}
	}
	service := f("service")
	if service == "" {
		service = b.sling.Details.Service.String()
	}
	months := f("months")
	if months == "" && b.sling.Details.Months != 0 && service == b.sling.Details.Service.String() {
		months = itoa(b.sling.Details.Months)
	}
	open, narrow := b.mayDecide()
	s := SignSheet{Path: path + "/sign", Drop: path + "/drop", Whole: whole, Narrow: narrow, Who: b.v.who.Name,
		Decision: Choice{Name: "decision", Legend: "What do you decide?", Error: b.wrong["decision"]},
		Service:  Choice{Name: "service", Legend: "How hard is it used?", Error: b.wrong["service"], Options: serviceOptions(b.w.rules, service)},
		Months: Field{Name: "months", Label: "Months to the next one", Hint: "Only where site policy or a " + b.w.rules.Judge() + " has set them; empty for the rule’s own",
			Mode: "numeric", Unit: "months", Most: 2, Value: months, Error: b.wrong["months"]},
		Sooner:  Field{Name: "sooner", Label: "Due sooner, on", Hint: "only with “fit, and due sooner”; never later than its service asks", Type: "date", Value: f("sooner"), Error: b.wrong["sooner"]},
		Why:     area("why", "Why", "What you go by, in your own words. Needed unless it is fit."),
		Repair:  area("repair", "What is to be repaired or renewed", ""),
		Danger:  Field{Name: "danger", Label: "A defect becomes dangerous by", Hint: "empty where none does, or where it is so now; the next one is never due later", Type: "date", Value: f("danger"), Error: b.wrong["danger"]},
		Tests:   area("tests", "Tests that were part of it", "Such as a proof test or a crack test; empty for none"),
		Salvage: area("salvage", "What may be saved of it", "Only where it is out: parts without a finding. The repair shop decides."),
		PIN: Field{Name: "pin", Label: "Your PIN", Type: "password", Mode: "numeric", Complete: "off", Most: desk.MaxDigits, Error: b.wrong["pin"],
			Hint: "signs everything on these pages"},
	}
	for _, d := range open {
		words := decisionWords[d]
		if d == event.DecidedHold {
			words[1] = "a " + b.w.rules.Judge() + " decides"
		}
		s.Decision.Options = append(s.Decision.Options, Option{Value: string(d), Label: words[0], Sub: words[1], On: f("decision") == string(d)})
	}
	date := f("date")
	if date == "" {
		date = b.v.today.String()
	}
	s.Due = b.s.dueSays(b.v, func(name string) string {
		return map[string]string{"date": date, "service": service, "months": months}[name]
	})
	return s, nil
}

// readSigned makes an inspection of a draft; what is missing is said at its field.
func (b *benchPage) readSigned(c complaints) counter.Inspection {
	f := b.fields
	date := f["date"]
	if date == "" {
		date = b.v.today.String()
	}
	form := liftForm{"service": f["service"], "rating-tag": f["rating-tag"], "decision": f["decision"]}
	decisions := map[string]event.Decision{}
	open, _ := b.mayDecide()
	for _, d := range open {
		decisions[string(d)] = d
	}
	i := counter.Inspection{
		Date: readPastDate(c, "date", date, b.v.today, ""), Months: readMonths(c, f["months"]), Note: f["where"],
		Service:   pick(form, c, "service", "Choose how hard it is used.", services),
		RatingTag: pick(form, c, "rating-tag", "Read the maker’s rating tag, on the first page, and choose.", ratingTags),
	}
	if c["date"] == "" && c["service"] == "" && c["months"] == "" {
		_, err := due.Next(i.Date, i.Service, b.w.rules, i.Months)
		c.addDue(err, i.Service, b.w.rules)
	}
	sheet := &counter.Sheet{
		Found: b.read.found, Legs: b.read.legs, Unseen: f["unseen"], Method: methodOf(f), Why: f["why"], Repair: f["repair"], Tests: f["tests"],
		Salvage: f["salvage"], Photos: photosOf(f), Decision: pick(form, c, "decision", "Choose what you decide.", decisions),
	}
	sheet.Regime, _ = event.ParseRegime(b.regime())
	day := func(name string) quantity.Date {
		if f[name] == "" {
			return quantity.Date{}
		}
		d, err := quantity.ParseDate(f[name])
		if err != nil {
			c.add(name, "This is no day of the calendar.")
		}
		return d
	}
	sheet.Danger = day("danger")
	if sheet.Decision == event.DecidedShorter {
		if sheet.Due = day("sooner"); sheet.Due.IsZero() {
			c.add("sooner", "Say by when.")
		}
	}
	for _, n := range []string{"1", "2"} {
		if name := f["gauge-"+n]; name != "" {
			sheet.Instruments = append(sheet.Instruments, event.Instrument{Name: name, Calibrated: day("calibrated-" + n)})
		}
	}
	if sheet.Decision != event.DecidedFit && sheet.Decision != "" && sheet.Why == "" {
		c.add("why", "Write what you go by.")
	}
	i.Sheet = sheet
	return i
}

// signInspection signs an inspection with a PIN, and drops its draft.
func (s *Server) signInspection(v *visit) error {
	sling, key, heads, err := s.slingForm(v)
	if err != nil {
		return err
	}
	if arrived, err := s.arrived(v); err != nil {
		return err
	} else if arrived {
		s.notice(v, "What you sent had arrived before, and counts once.")
		return v.redirect(slingPath(sling))
	}
	sent, err := s.keepSent(v, sling)
	if err != nil {
		return err
	}
	d := sent.draft
	again := benchState{step: sent.step.name, typed: sent.typed, problem: sent.problem, wrong: complaints{}}
	if sent.problem != "" {
		return s.renderInspection(v, http.StatusConflict, sling, again)
	}
	w := v.wordsOf(nil)
	b := benchPage{s: s, v: v, w: w, sling: sling, fields: maps.Clone(d.Fields), read: readSheet(sling, d.Fields, w)}
	i := b.readSigned(again.wrong)
	if len(again.wrong) == 0 {
		if err := s.Desk.Verify(v.r.Context(), v.who.ID.String(), v.raw("pin")); err != nil {
			if again.wrong["pin"], _ = signInProblem(err); again.wrong["pin"] == "" {
				return err
			}
		}
	}
	if len(again.wrong) > 0 {
		for _, name := range []string{"date", "rating-tag", "calibrated-1", "calibrated-2"} {
			if again.wrong[name] != "" {
				again.whole = "On the first page: " + again.wrong[name]
			}
		}
		return s.renderInspection(v, http.StatusUnprocessableEntity, sling, again)
	}
	o, err := s.Counter.Inspect(v.r.Context(), v.by(counter.Hand, key), counter.Seen{Sling: sling.ID, Heads: heads}, i)
	unmeasured, lacks := errors.AsType[*counter.UnmeasuredError](err)
	switch {
	case lacks:
		again.whole = unmeasuredSays(unmeasured.Pieces) + ". Until then it cannot be fit."
	case errors.Is(err, counter.ErrInspection):
		again.whole = "On the first page: an inspection is dated from the last one on record to today."
	case errors.Is(err, counter.ErrDue):
		again.wrong.add("sooner", "It may be due sooner than its service asks, and after the day of the inspection; never later.")
	case errors.Is(err, counter.ErrMilder):
		again.whole = "A decision may be graver than what was found, never milder."
	case err != nil:
		return registerError(err)
	case !o.May:
		again.whole = v.why(o.Codes)
	}
	if again.whole != "" || len(again.wrong) > 0 {
		return s.renderInspection(v, http.StatusConflict, sling, again)
	}
	s.notice(v, signedNotice(o.Sling, i.Sheet.Decision))
	if err := s.Bench.Drop(v.r.Context(), sling.ID.String(), 0); err != nil {
		s.Log.ErrorContext(v.r.Context(), "draft not dropped", "id", v.id, "error", err) // it is signed; the draft says so by its age
	}
	if i.Sheet.Decision == event.DecidedRepair {
		return v.redirect(sendOffPath(o.Sling))
	}
	return v.redirect(slingPath(o.Sling))
}

// signedNotice says what was signed, and what comes next.
func signedNotice(s state.Sling, d event.Decision) string {
	text := s.Details.Ident + " is inspected and signed: "
	switch d {
	case event.DecidedFit, event.DecidedShorter:
		text += "fit, next due " + s.Details.Sling.Due.Long() + ". "
		if s.Details.Sling.State == gate.StateHeld {
			text += "It is still held, and goes out only after it was released with a written reason. "
		}
		return text + "Print its next tag, so that the dates on it are right; the old one stays good for who it is."
	case event.DecidedRepair:
		return text + "to the maker or a repairer. It stays held. Write down here when it goes, and to whom."
	case event.DecidedOut:
		return text + "out of service. Make it unusable before it leaves the bench, then retire it here."
	}
	return text + "held."
}
