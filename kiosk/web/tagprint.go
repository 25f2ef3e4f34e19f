package web

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/labeler/print"
	"cribgate/printtemplates"
	"cribgate/store"
	"cribgate/store/keyring"
)

// printTag records the sling's next tag, which then can be had as a file until it
// is confirmed.
func (s *Server) printTag(v *visit) error {
	sling, key, heads, err := s.slingForm(v)
	if err != nil {
		return err
	}
	stock, err := printtemplates.Open(v.raw("stock"))
	if errors.Is(err, printtemplates.ErrUnknown) {
		choice, err := stockChoice(sling, "", "Choose the blank tag that is in the printer.")
		if err != nil {
			return err
		}
		return s.renderTag(v, http.StatusUnprocessableEntity, sling, &TagPage{Stock: choice})
	}
	if err != nil {
		return err
	}
	outcome, err := s.print(v.r.Context(), v.wordsOf(nil), v.by(counter.Hand, key), counter.Seen{Sling: sling.ID, Heads: heads}, stock)
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
func (s *Server) print(ctx context.Context, w words, who counter.Who, seen counter.Seen, stock printtemplates.Stock) (why string, err error) {
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
		text := w.says(code, gate.Answer{})
		why += text.Sentence + " " + text.Next + " "
	}
	return why, nil
}

// tagFormats are the files that a tag can be had as.
var tagFormats = map[print.Format]struct{ kind, label, sub string }{
	print.PDF: {"application/pdf", "PDF", "to print"},
	print.SVG: {"image/svg+xml", "SVG", "for a laser"},
	print.PNG: {"image/png", "PNG", strconv.Itoa(tagDPI) + " dpi"},
	print.DXF: {"image/vnd.dxf", "DXF", "for an engraver"},
}

// waitingTag is a tag that waits to be confirmed, with its files where the reader
// may print.
func waitingTag(s state.Sling, t state.Tag, w words, mayPrint bool) WaitingTag {
	out := WaitingTag{Serial: itoa(int(t.Serial)), Code: shortCode(s, t), Printed: printedWords(t, w), Behind: !s.Agrees(t)}
	if out.Behind || !mayPrint {
		return out
	}
	out.Path = slingPath(s) + "/tag/" + out.Serial
	for _, format := range print.Formats() {
		f, ok := tagFormats[format]
		if ok {
			out.Files = append(out.Files, Action{Label: f.label, Sub: f.sub, First: len(out.Files) == 0, Path: out.Path + string(format)})
		}
	}
	stock, err := printtemplates.Open(t.Stock)
	if err != nil {
		return out // one that the kiosk does not have: its files say so
	}
	if cells := stock.Paper.Cells(); cells > 1 {
		out.Place = Field{Name: "place", Label: "First free place on the sheet", Hint: "Counted row by row, from 1 to " + itoa(cells),
			Value: "1", Mode: "numeric", Most: 4}
	}
	if showsPeriod(stock) {
		out.Tinted = stock.Period.Width > 0
		out.Colour = Choice{Name: "colour", Legend: "Which colour has this period here?", Hint: "The tag says it in letters, and shows it where it has two colours.",
			Options: []Option{{Value: "", Label: "None", On: true}}}
		for _, c := range printtemplates.Colours() {
			out.Colour.Options = append(out.Colour.Options, Option{Value: c.String(), Label: upperFirst(c.String())})
		}
	}
	return out
}

// showsPeriod tells whether a stock says which period it is, in colour or letters.
func showsPeriod(stock printtemplates.Stock) bool {
	return stock.Period.Width > 0 || slices.ContainsFunc(stock.Fields, func(f printtemplates.Field) bool {
		return strings.Contains(f.Source(), "{"+string(printtemplates.Period)+"}")
	})
}

// sheetOf reads which place of the sheet and which colour a file is asked for with.
func sheetOf(v *visit, stock printtemplates.Stock) (first int, period printtemplates.Colour, err error) {
	asked := v.r.URL.Query()
	if text := asked.Get("place"); text != "" {
		n, bad := strconv.Atoi(text)
		if cells := stock.Paper.Cells(); bad != nil || n < 1 || n > cells {
			return 0, 0, &Visible{Code: BadInput, Sentence: "The sheet has places 1 to " + itoa(cells) + ".", Next: "Go back and type the first one that is free."}
		}
		first = n - 1
	}
	if text := asked.Get("colour"); text != "" {
		if period, err = printtemplates.ParseColour(text); err != nil || !showsPeriod(stock) {
			return 0, 0, errNoPage
		}
	}
	return first, period, nil
}

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
	first, period, err := sheetOf(v, stock)
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
	if err := (print.Job{Stock: stock, DPI: tagDPI, First: first, Period: period}).Stream(v.r.Context(), &out, format, tag); err != nil {
		return err
	}
	v.w.Header().Set("Content-Type", tagFormats[format].kind)
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
