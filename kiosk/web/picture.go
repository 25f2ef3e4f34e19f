package web

import (
	"errors"
	"fmt"
	"io"

	"cribgate/kiosk/counter"
	"cribgate/kiosk/scan"
)

// maxPicture is the most bytes of a picture that is sent, as its field says; more
// than the reader of pictures takes would be of no use.
const maxPicture = scan.MaxBytes

// pictureSays is what every field for a picture says.
var pictureSays = fmt.Sprintf("At most %d MB. It is read and not kept.", maxPicture>>20)

// picture gives the bytes of the picture that a form's field sent, nil where none
// was chosen. They stay in memory and go with the request, so that nothing that a
// telephone writes into a picture, such as where it was taken, is kept.
func (v *visit) picture(field string) ([]byte, error) {
	header := v.file(field)
	if header == nil {
		return nil, nil
	}
	file, err := header.Open()
	if err != nil {
		return nil, fmt.Errorf("web: open a picture: %w", err)
	}
	defer file.Close()
	data := make([]byte, header.Size)
	if _, err := io.ReadFull(file, data); err != nil {
		return nil, fmt.Errorf("web: read a picture: %w", err)
	}
	return data, nil
}

// readTag reads the symbol in the picture that a form sent, or finds the tag that it
// resembles where it is too worn. What is wrong with the picture is a problem, for the
// page to tell; that none was chosen is an error.
func (s *Server) readTag(v *visit) (reading counter.Reading, problem scan.Problem, err error) {
	data, err := v.picture("picture")
	if err != nil {
		return counter.Reading{}, 0, err
	}
	if data == nil {
		return counter.Reading{}, 0, &Visible{Code: BadInput, Sentence: "No picture was chosen.", Next: "Choose or take a picture of the tag, then send it."}
	}
	ctx := v.r.Context()
	seen, grids, err := s.pictures.ReadGrids(ctx, data)
	if err != nil && len(grids) > 0 {
		text, like, err := s.Worn.Resembles(ctx, grids, nil)
		if err != nil {
			return counter.Reading{}, 0, err
		}
		if like {
			return counter.Reading{Text: text, Way: counter.Resembles}, 0, nil
		}
	}
	if problem, ok := errors.AsType[scan.Problem](err); ok {
		return counter.Reading{}, problem, nil
	}
	if err == nil {
		err = s.Worn.Saw(ctx, seen.Text(), seen.Grid(), true)
	}
	return counter.Reading{Text: seen.Text(), Way: counter.Image}, 0, err
}
