package web

import (
	"net/http"
	"slices"

	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/printtemplates"
)

// TagPage prints a sling's next tag, confirms it on the sling, or throws it away.
type TagPage struct {
	Base
	Ident    string
	Path     string // of the sling
	Heads    string
	Strip    Strip
	Stock    Choice
	MayPrint bool
	No       string // why no tag can be printed now; empty where one can
	Waiting  WaitingTag
	Lapsed   string // the tag that was not confirmed in time, in words; empty where there is none
	Away     AwayForm
	Live     string // the tag that is on the sling, in words
	Codes    []Reason
	Print    PrintGrade // what a picture of the tag came to
	Plate    Field
	Picture  Field
	Changed  string
	Scanned  string // what was scanned, to send it again with the plate's characters
}

// A WaitingTag is printed and not yet confirmed. The zero value is none.
type WaitingTag struct {
	Serial  string
	Code    string
	Printed string // when, on what and by whom
	Until   string
	Left    string // how many days that are
	Behind  bool   // the record has changed since, and the tag would lie
	Files   []Action
	Path    string // where the files are asked for with what follows
	Place   Field  // which blank of the sheet is free; none where the stock is no sheet
	Colour  Choice // of the period; none where the stock shows none
	Tinted  bool   // the stock shows the colour itself, not its name alone
}

// fewestTyped is how many characters of the plate are asked for, as
// [counter.PlateMatches] wants them.
const fewestTyped = 3

func (s *Server) tagPage(v *visit) error {
	sling, err := s.findSling(v)
	if err != nil {
		return err
	}
	return s.renderTag(v, http.StatusOK, sling, &TagPage{})
}

func (s *Server) renderTag(v *visit, status int, sling state.Sling, p *TagPage) error {
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w, today := v.wordsOf(names), s.today(v)
	p.Title = "Tag of " + sling.Details.Ident
	p.Ident, p.Path, p.Heads = sling.Details.Ident, slingPath(sling), headsText(sling.Heads)
	p.Strip = metalStrip(sling, w)
	p.MayPrint = v.may(actTag)
	if p.Stock.Options == nil {
		if p.Stock, err = stockChoice(sling, v.raw("stock"), ""); err != nil {
			return err
		}
	}
	p.No = v.list().Say(noTag(sling))
	if t, ok := sling.Live(); ok {
		p.Live = tagWords(sling, t) + ", its print not graded"
		if t.Graded != "" {
			p.Live = tagWords(sling, t) + gradedWords(t)
		}
	}
	if t, ok := sling.Unconfirmed(); ok {
		p.fillAway(t)
		switch t.Lapsed(today) {
		case true:
			p.Lapsed = tagWords(sling, t) + ", lapsed on " + t.Printed.AddDays(state.LapseDays+1).Long()
		case false:
			p.Waiting = waitingTag(sling, t, w, p.MayPrint)
			until := t.Printed.AddDays(state.LapseDays)
			p.Waiting.Until, p.Waiting.Left = until.Long(), daysLeft(until.DaysSince(today))
			if p.Away.First && len(p.Waiting.Files) > 0 {
				p.Waiting.Files[0].First = false
			}
		}
	}
	if p.Plate.Name == "" {
		p.Plate = plateField("", "")
	}
	if p.Picture.Name == "" {
		p.Picture = pictureField("")
	}
	return s.render(v, status, "tag", p)
}

// daysLeft says how long a tag has until the day on which it is good for the last
// time.
func daysLeft(days int) string {
	switch days {
	case 0:
		return "today is the last day"
	case 1:
		return "until tomorrow"
	}
	return plural(days, "day") + " left"
}

func plateField(value, complaint string) Field {
	return Field{Name: "typed", Label: "Last characters of the plate’s identification",
		Hint: "Read them off the metal plate of the sling in your hand, at least " + itoa(fewestTyped), Value: value, Error: complaint, Most: tagcode.MaxIdent}
}

func pictureField(complaint string) Field {
	return Field{Name: "picture", Label: "Or a picture of the tag on the sling", Type: "file", Accept: "image/*", Error: complaint, Focus: complaint != "",
		Hint: "Square on, the tag filling the picture: the print is graded from it. " + pictureSays}
}

func tagWords(s state.Sling, t state.Tag) string {
	return "Tag " + itoa(int(t.Serial)) + ", " + shortCode(s, t) + ", printed " + t.Printed.Long()
}

func shortCode(s state.Sling, t state.Tag) string {
	return tagcode.ShortOf(tagcode.NumberOf(t.Key, s.Details.Ident), t.Serial).String()
}

// noTag says why a sling gets no tag; empty where it does.
func noTag(s state.Sling) string {
	switch {
	case s.Details.Sling.State == gate.StateRetired:
		return "It is retired for good and gets no tag."
	case s.Details.Sling.State == gate.StateLost:
		return "It is lost. It gets a tag when it turns up."
	case s.Doubt != 0:
		return "Its record is in doubt. Hold it; keeper and inspector find out what is right."
	case s.NextSerial() == 0:
		return "All " + itoa(int(tagcode.MaxSerial)) + " tags of it have been printed."
	}
	return ""
}

// stockChoice offers the stocks that hang on slings, the one that the sling's last
// tag was on first.
func stockChoice(s state.Sling, on, complaint string) (Choice, error) {
	c := Choice{Name: "stock", Legend: "On which tag?", Error: complaint}
	stocks, err := printtemplates.OfKind(printtemplates.Tag)
	if err != nil {
		return Choice{}, err
	}
	last := ""
	if n := len(s.Tags); n > 0 {
		last = s.Tags[n-1].Stock
	}
	if on == "" {
		on = last
	}
	for _, stock := range stocks {
		o := Option{Value: stock.Name, Label: stock.Title, Sub: stock.Name + ": " + stock.Material, On: stock.Name == on || len(stocks) == 1}
		if stock.Name == last {
			o.Sub += ". Its last tag was on this one."
			c.Options = slices.Insert(c.Options, 0, o)
			continue
		}
		c.Options = append(c.Options, o)
	}
	return c, nil
}
