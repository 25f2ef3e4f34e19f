package web

import (
	"errors"
	"image"
	"io/fs"
	"net/http"
	"slices"
	"strconv"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/scan"
	"cribgate/store/photos"
)

// StraysPage lists the slings that the register does not know and that are kept
// apart until somebody finds out whose they are.
type StraysPage struct {
	Base
	Rows   []StrayRow
	Lies   Field
	Note   Field
	Photo  Field
	Settle bool // who asks may say what became of one
}

// A StrayRow is one sling that is kept apart.
type StrayRow struct {
	No    int
	Lies  string
	Note  string
	Since string
	Photo string // address; empty for none
	How   Field
	Take  bool // the picture may be taken out by who asks
}

const straysPath = "/strays"

// nobodys tells whether a reading led to a sling that the register does not know, or
// to a tag that is not its own, so that the sling is kept apart.
func nobodys(codes []gate.Reason) bool {
	return slices.ContainsFunc(codes, func(r gate.Reason) bool {
		return r == gate.UnknownSling || r == gate.TagNotOurs || r == gate.TagForged
	})
}

func (s *Server) strays(v *visit) error {
	return s.renderStrays(v, http.StatusOK, complaints{}, 0)
}

// renderStrays shows the list; of is the number whose form was sent, 0 for the one
// that adds.
func (s *Server) renderStrays(v *visit, status int, c complaints, of int) error {
	names, err := s.names(v)
	if err != nil {
		return err
	}
	p := &StraysPage{Base: Base{Title: "Kept apart"}, Settle: v.may(actSettle)}
	p.Lies = Field{Name: "lies", Label: "Where does it lie now?", Hint: "Not with slings that may go out", Most: 60, Needed: true, Error: c["lies"]}
	p.Note = Field{Name: "note", Label: "What can be read on it, and who brought it?", Hint: "Maker, size, stamps; no tag, a tag of another crib", Most: maxText, Error: c["note"]}
	p.Photo = Field{Name: "picture", Label: "Picture of it", Hint: photoSays, Type: "file", Accept: "image/*", Error: c["picture"]}
	if of == 0 {
		p.Lies.Value, p.Note.Value = v.raw("lies"), v.raw("note")
	}
	w := v.wordsOf(names)
	for _, stray := range v.crib.Strays {
		row := StrayRow{No: stray.No, Lies: stray.Lies, Note: stray.Note, Since: "since " + Day(stray.Day) + ", " + w.name(stray.By),
			How: Field{Name: howOf(stray.No), Label: "What became of it?", Hint: "Registered as CS-0412; given back to its crib; cut up", Most: maxText, Needed: true}}
		if of == stray.No {
			row.How.Value, row.How.Error = v.raw(howOf(of)), c[howOf(of)]
		}
		if stray.Photo != (event.Photo{}) {
			row.Photo, row.Take = "/photo/"+stray.Photo.String(), v.may(actPhotoOut)
		}
		p.Rows = append(p.Rows, row)
	}
	return s.render(v, status, "strays", p)
}

// howOf names the field that says what became of one.
func howOf(no int) string { return "how-" + itoa(no) }

// photoSays is what every field for a picture that is kept says.
var photoSays = "At most " + strconv.Itoa(maxPicture>>20) + " MB. It is kept smaller, and without what the telephone writes into it. No faces."

// keepApart records a sling that nobody knows.
func (s *Server) keepApart(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	c := complaints{}
	lies, complaint := v.line("lies", 60)
	if complaint == "" && lies == "" {
		complaint = "Say where it lies, so that it is found again."
	}
	c.add("lies", complaint)
	note := v.note(c, "note")
	photo, err := s.photo(v, "picture", c)
	if err != nil {
		return err
	}
	if len(c) > 0 {
		return s.renderStrays(v, http.StatusUnprocessableEntity, c, 0)
	}
	no, err := s.Counter.KeepApart(v.r.Context(), v.by(counter.Hand, key), photo, lies, note)
	if errors.Is(err, counter.ErrRole) {
		return errNotYours
	}
	if err != nil {
		return registerError(err)
	}
	s.notice(v, "Write the number "+itoa(no)+" on a label and hang it on the sling. It stays apart until an inspector or a keeper says what becomes of it.")
	return v.redirect(straysPath)
}

// photo keeps the picture that a form's field sent, the zero Photo where none was
// chosen.
func (s *Server) photo(v *visit, field string, c complaints) (event.Photo, error) {
	data, err := v.picture(field)
	if err != nil || data == nil {
		return event.Photo{}, err
	}
	var kept event.Photo
	err = s.pictures.Show(v.r.Context(), data, func(m image.Image) (err error) {
		if len(c) == 0 {
			kept, err = s.Photos.Keep(m) // within the turn: to make it smaller takes more memory than to read it
		}
		return err
	})
	if problem, ok := errors.AsType[scan.Problem](err); ok {
		c.add(field, problem.Sentence()+" "+problem.Next())
		return event.Photo{}, nil
	}
	if errors.Is(err, photos.ErrGone) {
		c.add(field, "This picture was taken out for good. Take another one.")
		return event.Photo{}, nil
	}
	return kept, err
}

// settle records what became of a sling that was kept apart.
func (s *Server) settle(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	no, err := strconv.Atoi(v.r.PathValue("no"))
	if err != nil {
		return errNoPage
	}
	c := complaints{}
	how := v.reason(c, howOf(no), "Write what became of it.")
	if len(c) > 0 {
		return s.renderStrays(v, http.StatusUnprocessableEntity, c, no)
	}
	err = s.Counter.Settle(v.r.Context(), v.by(counter.Hand, key), no, how)
	switch {
	case errors.Is(err, counter.ErrRole):
		return errNotYours
	case errors.Is(err, counter.ErrNoStray):
		return &Visible{Code: Stale, Cause: err, Sentence: "No sling of this number is kept apart any more.", Next: "Load the list again."}
	case err != nil:
		return registerError(err)
	}
	s.notice(v, "Number "+itoa(no)+" is settled.")
	return v.redirect(straysPath)
}

// photoFile gives a picture.
func (s *Server) photoFile(v *visit) error {
	p, err := event.ParsePhoto(v.r.PathValue("photo"))
	if err != nil || p == (event.Photo{}) {
		return errNoPage
	}
	data, err := s.Photos.Read(p)
	switch {
	case errors.Is(err, photos.ErrGone):
		return &Visible{Code: NoPage, Cause: err, Sentence: "This picture was taken out.", Next: "What was written about it stays."}
	case errors.Is(err, fs.ErrNotExist):
		return errNoPage
	case errors.Is(err, photos.ErrDamaged):
		return &Visible{Code: Unusable, Cause: err, Sentence: "This picture is damaged, and is not shown.", Next: "Tell the keeper to have the disk looked at; a copy may still have it."}
	case err != nil:
		return err
	}
	v.w.Header().Set("Content-Type", "image/jpeg")
	v.w.Header().Set("Content-Disposition", "inline")
	_, err = v.w.Write(data)
	if err != nil {
		s.Log.InfoContext(v.r.Context(), "picture not delivered", "id", v.id, "error", err)
	}
	return nil
}

// photoOut takes a picture out for good: the keeper does, where it shows somebody.
func (s *Server) photoOut(v *visit) error {
	if _, err := v.key(); err != nil {
		return err
	}
	p, err := event.ParsePhoto(v.r.PathValue("photo"))
	if err != nil || p == (event.Photo{}) {
		return errNoPage
	}
	if _, err := s.Photos.Read(p); errors.Is(err, fs.ErrNotExist) {
		return errNoPage
	}
	if err := s.Photos.TakeOut(p); err != nil { // a damaged one as well
		return err
	}
	s.notice(v, "The picture is gone, here and from the next copy on also there.")
	return v.redirect(straysPath)
}
