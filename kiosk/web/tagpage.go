package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/scan"
	"cribgate/labeler/print"
	"cribgate/printtemplates"
	"cribgate/store"
	"cribgate/store/keyring"
)

// TagPage prints a sling's next tag and confirms it on the sling.
type TagPage struct {
	Base
	Ident   string
	Path    string // of the sling
	Heads   string
	Strip   Strip
	Stock   Choice
	No      string // why no tag can be printed now; empty where one can
	Waiting WaitingTag
	Live    string // the tag that is on the sling, in words
	Codes   []Reason
	Plate   Field
	Picture Field
	Changed string
	Scanned string // what was scanned, to send it again with the plate's characters
}

// A WaitingTag is printed and not yet confirmed. The zero value is none.
type WaitingTag struct {
	Serial string
	Code   string
	Until  string
	Files  []Action
}

// fewestTyped is how many characters of the plate are asked for, as
// [counter.PlateMatches] wants them.
const fewestTyped = 3

// maxPicture is the most bytes of a picture that is sent.
const maxPicture = 12 << 20

func (s *Server) tagPage(v *visit) error {
	sling, err := s.findSling(v)
	if err != nil {
		return err
	}
	return s.renderTag(v, http.StatusOK, sling, &TagPage{})
}

func (s *Server) renderTag(v *visit, status int, sling state.Sling, p *TagPage) error {
	today := s.today(v)
	p.Title = "Tag of " + sling.Details.Ident
	p.Ident, p.Path, p.Heads = sling.Details.Ident, slingPath(sling), headsText(sling.Heads)
	p.Strip = metalStrip(sling, v.wordsOf(nil))
	if p.Stock.Options == nil {
		stocks, err := stockChoice(v.raw("stock"), "")
		if err != nil {
			return err
		}
		p.Stock = stocks
	}
	p.No = noTag(sling)
	if t, ok := sling.Live(); ok {
		p.Live = tagWords(sling, t)
	}
	if t, ok := sling.Waiting(today); ok {
		p.Waiting = WaitingTag{Serial: itoa(int(t.Serial)), Code: shortCode(sling, t), Until: t.Printed.AddDays(state.LapseDays).Long()}
		for i, f := range []struct{ ending, label, sub string }{
			{".pdf", "PDF", "to print"}, {".svg", "SVG", "for a laser"}, {".png", "PNG", "300 dpi"},
		} {
			p.Waiting.Files = append(p.Waiting.Files, Action{Label: f.label, Sub: f.sub, First: i == 0 && p.Codes == nil,
				Path: p.Path + "/tag/" + p.Waiting.Serial + f.ending})
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

func plateField(value, complaint string) Field {
	return Field{Name: "typed", Label: "Last characters of the plate’s identification",
		Hint: "Read them off the metal plate of the sling in your hand, at least " + itoa(fewestTyped), Value: value, Error: complaint, Most: tagcode.MaxIdent}
}

func pictureField(complaint string) Field {
	return Field{Name: "picture", Label: "Or a picture of the tag on the sling", Type: "file", Accept: "image/*", Error: complaint, Focus: complaint != ""}
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
	case s.Details.Sling.State == gate.StateOut:
		return "It is out. A tag is printed when it is here and can be hung on."
	case s.Doubt != 0:
		return "Its record is in doubt. Hold it; keeper and inspector find out what is right."
	case s.NextSerial() == 0:
		return "All " + itoa(int(tagcode.MaxSerial)) + " tags of it have been printed."
	}
	return ""
}

func stockChoice(on, complaint string) (Choice, error) {
	c := Choice{Name: "stock", Legend: "On which tag?", Error: complaint}
	stocks, err := printtemplates.OfKind(printtemplates.Tag)
	if err != nil {
		return Choice{}, err
	}
	for _, stock := range stocks {
		c.Options = append(c.Options, Option{Value: stock.Name, Label: stock.Title, Sub: stock.Name, On: stock.Name == on || len(stocks) == 1})
	}
	return c, nil
}

// printTag records the sling's next tag, which then can be had as a file until it
// is confirmed.
func (s *Server) printTag(v *visit) error {
	sling, err := s.findSling(v)
	if err != nil {
		return err
	}
	key, err := v.key()
	if err != nil {
		return err
	}
	heads, err := parseHeads(v.raw("heads"))
	if err != nil {
		return err
	}
	stock, err := printtemplates.Open(v.raw("stock"))
	if errors.Is(err, printtemplates.ErrUnknown) {
		choice, err := stockChoice("", "Choose the blank tag that is in the printer.")
		if err != nil {
			return err
		}
		return s.renderTag(v, http.StatusUnprocessableEntity, sling, &TagPage{Stock: choice})
	}
	if err != nil {
		return err
	}
	outcome, err := s.print(v.r.Context(), v.by(counter.Hand, key), counter.Seen{Sling: sling.ID, Heads: heads}, stock)
	if err != nil {
		return registerError(err)
	}
	if outcome != "" {
		if sling, err = s.findSling(v); err != nil {
			return err
		}
		return s.renderTag(v, http.StatusConflict, sling, &TagPage{Changed: outcome})
	}
	s.notice(v, "The tag is drawn and known to the register. Print it, hang it on the sling, and confirm it there.")
	return v.redirect(slingPath(sling) + "/tag")
}

// print records the next tag of a sling on a stock. why says in words why it was
// not recorded.
func (s *Server) print(ctx context.Context, who counter.Who, seen counter.Seen, stock printtemplates.Stock) (why string, err error) {
	outcome, err := s.Counter.Print(ctx, who, seen, stock.Name, func(ctx context.Context, tx *store.Tx, sling state.Sling) (event.TagPrinted, error) {
		tags, err := print.FromRegister(ctx, tx.Reader, s.Keys, []string{sling.Details.Ident})
		if err != nil {
			return event.TagPrinted{}, err
		}
		drawn, _, err := print.Job{Stock: stock}.Draw(tags[0])
		return drawn.Printed, err
	})
	switch {
	case errors.Is(err, keyring.ErrNoKey):
		return "The key that seals this crib’s tags is not on this machine. Tell the keeper.", nil
	case errors.Is(err, print.ErrNoRoom):
		return "A tag has no room for what is recorded of this sling, such as an inspection before 2000. An inspector looks at its details and corrects them, or inspects it.", nil
	case errors.Is(err, print.ErrDoubt), errors.Is(err, print.ErrGone), errors.Is(err, print.ErrSerials):
		return "This sling gets no tag as its record stands. Look at the sling’s page.", nil
	case err != nil:
		return "", err
	case outcome.May:
		return "", nil
	}
	for _, code := range outcome.Codes {
		if code == gate.ChangedMeanwhile {
			return "Changed meanwhile: something happened to the sling after this page was loaded, and no tag was printed. Look at it again, then print.", nil
		}
		text := code.Text(gate.Answer{}, quantity.Imperial)
		why += text.Sentence + " " + text.Next + " "
	}
	return why, nil
}

// tagFormats are the files that a tag can be had as.
var tagFormats = map[print.Format]string{print.PDF: "application/pdf", print.SVG: "image/svg+xml", print.PNG: "image/png"}

// tagFile gives a tag that waits to be confirmed as a file. It is the same tag
// however often it is fetched; once it is confirmed or has lapsed there is none.
func (s *Server) tagFile(v *visit) error {
	sling, err := s.findSling(v)
	if err != nil {
		return err
	}
	name := v.r.PathValue("file")
	format, err := print.FormatOf(name)
	if err != nil {
		return errNoPage
	}
	waiting, ok := sling.Waiting(s.today(v))
	if !ok || name != itoa(int(waiting.Serial))+string(format) {
		return &Visible{Code: NoPage,
			Sentence: "This tag is not waiting to be confirmed any more, so there is no file of it.",
			Next:     "Look at the sling’s tags, and print a new one if it needs one."}
	}
	stock, err := printtemplates.Open(waiting.Stock)
	if errors.Is(err, printtemplates.ErrUnknown) {
		return &Visible{Code: NoPage, Cause: err,
			Sentence: "This tag is on a stock that the kiosk does not have: " + waiting.Stock + ".",
			Next:     "Print it where it was drawn, or print a new one here."}
	}
	if err != nil {
		return err
	}
	tag, err := print.Again(sling, waiting, s.Keys, v.crib.Founded.Policy.Prefix)
	switch {
	case errors.Is(err, print.ErrChanged):
		return &Visible{Code: Stale, Cause: err,
			Sentence: "The record of this sling has changed since the tag was drawn, so that the tag would lie.",
			Next:     "Print a new tag."}
	case errors.Is(err, keyring.ErrNoKey):
		return &Visible{Code: Unusable, Cause: err,
			Sentence: "The key that sealed this tag is not on this machine.", Next: "Tell the keeper."}
	case err != nil:
		return err
	}
	var out bytes.Buffer
	if err := (print.Job{Stock: stock, DPI: tagDPI}).Stream(v.r.Context(), &out, format, tag); err != nil {
		return err
	}
	v.w.Header().Set("Content-Type", tagFormats[format])
	v.w.Header().Set("Content-Disposition", `attachment; filename="tag-`+fileName(sling.Details.Ident)+"-"+itoa(int(waiting.Serial))+string(format)+`"`)
	if _, err := out.WriteTo(v.w); err != nil {
		s.Log.InfoContext(v.r.Context(), "answer not delivered", "id", v.id, "error", err)
	}
	return nil
}

// tagDPI is the resolution of a PNG; a label printer's.
const tagDPI = 300

// fileName is an identification without what a file name cannot have.
func fileName(ident string) string {
	return strings.NewReplacer("/", "_", " ", "_").Replace(ident)
}

// confirmTag makes a waiting tag the live one.
func (s *Server) confirmTag(v *visit) error {
	sling, err := s.findSling(v)
	if err != nil {
		return err
	}
	key, err := v.key()
	if err != nil {
		return err
	}
	typed, complaint := v.line("typed", tagcode.MaxIdent)
	p := &TagPage{Plate: plateField(typed, complaint)}
	if complaint != "" {
		return s.renderTag(v, http.StatusUnprocessableEntity, sling, p)
	}
	reading := counter.Reading{Text: v.raw("text"), Way: counter.Scanner, Typed: typed}
	if picture := v.file("picture"); picture != nil && picture.Size > 0 {
		reading.Way = counter.Image
		if reading.Text, complaint, err = s.readPicture(v, picture); err != nil {
			return err
		}
		if complaint != "" {
			p.Picture = pictureField(complaint)
			return s.renderTag(v, http.StatusUnprocessableEntity, sling, p)
		}
	}
	if reading.Text == "" {
		p.Picture = pictureField("Scan the tag, or choose a picture of it.")
		return s.renderTag(v, http.StatusUnprocessableEntity, sling, p)
	}
	outcome, err := s.Counter.Confirm(v.r.Context(), v.by(reading.Way, key), reading, sling.ID)
	if err != nil {
		return registerError(err)
	}
	if outcome.May {
		s.notice(v, sling.Details.Ident+": the tag is confirmed and good from now on. Take the old one off, if there is one.")
		return v.redirect(slingPath(sling))
	}
	for _, code := range outcome.Codes {
		text := code.Text(gate.Answer{}, v.wordsOf(nil).lead)
		switch code {
		case gate.PlateNeeded, gate.PlateMismatch:
			complaint := text.Sentence + " " + text.Next
			if n := len(strings.TrimSpace(typed)); n > 0 && n < min(fewestTyped, len(sling.Details.Ident)) {
				complaint = "These are too few: type at least the last " + itoa(min(fewestTyped, len(sling.Details.Ident))) + "."
			}
			p.Plate = plateField(typed, complaint)
			p.Plate.Focus = true
		default:
			p.Codes = append(p.Codes, Reason{Sentence: text.Sentence + " " + text.Next, Rule: text.Rule})
		}
	}
	// The scan is kept for the next try, so that only the plate is typed.
	if len(p.Codes) == 0 {
		p.Scanned = reading.Text
	}
	return s.renderTag(v, http.StatusConflict, sling, p)
}

// readPicture reads the tag in a picture.
func (s *Server) readPicture(v *visit, picture *multipart.FileHeader) (text, complaint string, err error) {
	file, err := picture.Open()
	if err != nil {
		return "", "", fmt.Errorf("web: open a picture: %w", err)
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, maxPicture+1))
	if err != nil {
		return "", "", fmt.Errorf("web: read a picture: %w", err)
	}
	text, err = s.pictures.Read(v.r.Context(), data)
	if problem, ok := errors.AsType[scan.Problem](err); ok {
		return "", problem.Sentence() + " " + problem.Next(), nil
	}
	return text, "", err
}
