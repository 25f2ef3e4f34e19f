package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strconv"

	"cribgate/core/due"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
)

// inspectSling records a thorough inspection.
func (s *Server) inspectSling(v *visit) error {
	return s.actOnSling(v, "inspect", "is inspected. Print its next tag, so that the dates on it are right.", func(ctx context.Context, who counter.Who, seen counter.Seen, c complaints) (counter.Outcome, error) {
		i := s.readInspection(v, c)
		if len(c) > 0 {
			return counter.Outcome{}, nil
		}
		outcome, err := s.Counter.Inspect(ctx, who, seen, i)
		if errors.Is(err, counter.ErrInspection) {
			c.add("date", "An inspection is dated from the last one on record to today.")
			return counter.Outcome{}, nil
		}
		if errors.Is(err, counter.ErrUnmeasured) {
			c.add("outcome", "It was measured and did not pass. It passes by being measured again, at the bench.")
			return counter.Outcome{}, nil
		}
		return outcome, err
	})
}

// inspectCheck answers, while the form is filled in, with the day that follows.
func (s *Server) inspectCheck(v *visit) error {
	if _, err := s.findSling(v); err != nil {
		return err
	}
	return s.renderPart(v, "sling", "due-says", s.dueSays(v, v.raw))
}

var outcomes = map[string]tagcode.Outcome{"fit": tagcode.Fit, "hold": tagcode.Hold, "out": tagcode.Out}

var services = map[string]due.Service{"normal": due.Normal, "severe": due.Severe, "special": due.Special}

var ratingTags = map[string]gate.RatingTag{
	"legible": gate.TagLegible, "partial": gate.TagPartial, "illegible": gate.TagIllegible, "missing": gate.TagMissing,
}

// readInspection reads the form of a thorough inspection.
func (s *Server) readInspection(v *visit, c complaints) counter.Inspection {
	form := liftForm{"outcome": v.raw("outcome"), "service": v.raw("service"), "rating-tag": v.raw("rating-tag")}
	i := counter.Inspection{
		Date:      readPastDate(c, "date", v.raw("date"), s.today(v), "Choose the day of the inspection."),
		Outcome:   pick(form, c, "outcome", "Choose what the inspection came to.", outcomes),
		Service:   pick(form, c, "service", "Choose how hard it is used.", services),
		RatingTag: pick(form, c, "rating-tag", "Look at the maker’s rating tag and choose.", ratingTags),
		Note:      v.note(c, "inspect-note"),
	}
	i.Months = readMonths(c, v.raw("months"))
	if c["date"] == "" && c["service"] == "" && c["months"] == "" {
		_, err := due.Next(i.Date, i.Service, v.crib.Founded.Rules, i.Months)
		c.addDue(err, i.Service, v.crib.Founded.Rules)
	}
	return i
}

// readPastDate reads a day that is not later than today.
func readPastDate(c complaints, field, text string, today quantity.Date, ask string) quantity.Date {
	if text == "" {
		c.add(field, ask)
		return quantity.Date{}
	}
	d, err := quantity.ParseDate(text)
	switch {
	case err != nil:
		c.add(field, "This is no day of the calendar. Type it as year, month and day, like 2026-03-02.")
	case d.After(today):
		c.add(field, "This day has not come yet; today is "+today.Long()+".")
	}
	return d
}

// readMonths reads an interval; empty is the rule's own.
func readMonths(c complaints, text string) int {
	if text == "" {
		return 0
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > 12 {
		c.add("months", "Type whole months, from 1 to 12, or leave it empty.")
		return 0
	}
	return n
}

// addDue says at its field why no day follows.
func (c complaints) addDue(err error, service due.Service, rules due.Rules) {
	row, _ := due.Find(service, rules)
	between := "from " + strconv.Itoa(row.Min) + " to " + strconv.Itoa(row.Max)
	switch {
	case err == nil:
	case errors.Is(err, due.ErrNoInterval):
		c.add("service", "The rules of this crib have no interval for "+service.String()+" service.")
	case errors.Is(err, due.ErrMonthsNeeded):
		c.add("months", "For special service a "+rules.Judge()+" says the months, "+between+".")
	case errors.Is(err, due.ErrMonths) && row.Max == 0:
		c.add("months", "For "+service.String()+" service the rule’s own interval holds; leave this empty.")
	case errors.Is(err, due.ErrMonths):
		c.add("months", "For "+service.String()+" service the months are "+between+".")
	default:
		c.add("date", "No day follows from this one.")
	}
}

// DueSays is the day that follows from an inspection, as the rules say it.
type DueSays struct {
	Sentence string // empty: not enough is known yet
	Rule     string
}

// dueSays gives the day that follows from what has been filled in so far.
func (s *Server) dueSays(v *visit, f detailsForm) DueSays {
	date, err := quantity.ParseDate(f("date"))
	switch f("when") {
	case "month":
		date, err = quantity.ParseDate(f("month") + "-01")
	case "never":
		return DueSays{}
	}
	service, known := due.ParseService(f("service"))
	if err != nil || !known {
		return DueSays{}
	}
	c := complaints{}
	rules := v.crib.Founded.Rules
	next, err := due.Next(date, service, rules, readMonths(c, f("months")))
	c.addDue(err, service, rules)
	for _, field := range []string{"months", "service", "date"} {
		if c[field] != "" {
			return DueSays{Sentence: c[field]}
		}
	}
	row, _ := due.Find(service, rules)
	says := DueSays{Sentence: "Next due " + next.Long() + "; that day itself is still good.", Rule: row.Clause.String()}
	if last := date.AddMonths(v.crib.Founded.Policy.MaxMonths); !last.IsZero() && last.Before(next) {
		says.Sentence = "Next due " + next.Long() + " by the rules; by this crib’s policy it counts as due on " + last.Long() + "."
	}
	return says
}

// renderPart answers with one part of a page, for a script to put in its place.
func (s *Server) renderPart(v *visit, page, part string, data any) error {
	var out bytes.Buffer
	if err := s.template(v, page).ExecuteTemplate(&out, part, data); err != nil {
		return fmt.Errorf("web: render %s of page %s: %w", part, page, err)
	}
	v.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	if _, err := out.WriteTo(v.w); err != nil {
		s.Log.InfoContext(v.r.Context(), "answer not delivered", "id", v.id, "error", err)
	}
	return nil
}

func serviceOptions(rules due.Rules, on string) []Option {
	var options []Option
	for _, x := range []struct {
		service   due.Service
		label, is string
	}{
		{due.Normal, "Normal", "within the rated load"},
		{due.Severe, "Severe", "abnormal conditions"},
		{due.Special, "Special", "a " + rules.Judge() + " sets the months"},
	} {
		row, ok := due.Find(x.service, rules)
		if !ok {
			continue
		}
		if row.Months > 0 {
			x.is += "; " + plural(row.Months, "month")
		}
		options = append(options, Option{Value: x.service.String(), Label: x.label, Sub: x.is, On: on == x.service.String()})
	}
	return options
}

func ratingTagOptions(on string) []Option {
	return options(on, [][3]string{
		{"legible", "Legible", "every word of it"}, {"partial", "Partly", "something cannot be read"},
		{"illegible", "Not legible", ""}, {"missing", "Missing", ""},
	})
}

// options makes answers of value, label and small print.
func options(on string, rows [][3]string) []Option {
	out := make([]Option, len(rows))
	for i, r := range rows {
		out[i] = Option{Value: r[0], Label: r[1], Sub: r[2], On: r[0] == on}
	}
	return out
}
