package web

import (
	"context"
	"errors"
	"net/http"

	"cribgate/core/event"
	"cribgate/kiosk/camera"
	"cribgate/kiosk/desk"
	"cribgate/store"
)

// cameraLine reads what a camera of this machine shows, for whoever may read tags at
// the counter.
func (s *Server) cameraLine(w http.ResponseWriter, r *http.Request) {
	line := s.Desk.Sessions().Line(r)
	if s.mayRead(w, r, line) {
		s.lineEnded(r, s.Cameras.Serve(w, r, s.holds(line)))
	}
}

// stationLine tells a counter's page how its phone is, and what that reads.
func (s *Server) stationLine(w http.ResponseWriter, r *http.Request) {
	line := s.Desk.Sessions().Line(r)
	if s.mayRead(w, r, line) {
		s.lineEnded(r, s.Cameras.ServeStation(w, r, s.cameraStation(r)))
	}
}

// phoneLine reads what the camera of a paired phone shows. It asks for no sign-in: the
// phone's token is all that it has.
func (s *Server) phoneLine(w http.ResponseWriter, r *http.Request) {
	s.lineEnded(r, s.Cameras.ServePhone(w, r, phoneToken(r)))
}

// mayRead answers who may not.
func (s *Server) mayRead(w http.ResponseWriter, r *http.Request, line desk.Line) bool {
	ok, err := s.holds(line)(r.Context())
	switch {
	case err != nil:
		id := requestID(r.Context())
		s.Log.ErrorContext(r.Context(), "request failed", "id", id, "error", err)
		http.Error(w, sorry+" Reference "+id+".", http.StatusInternalServerError)
	case !ok:
		http.Error(w, "Sign in first.", http.StatusForbidden)
	}
	return ok && err == nil
}

// holds tells of a session whether somebody is still signed in there who may read
// tags at the counter.
func (s *Server) holds(line desk.Line) camera.Check {
	return func(ctx context.Context) (bool, error) {
		text, standing, err := line.Person(ctx)
		if err != nil || text == "" || standing.OneTime {
			return false, err
		}
		id, err := event.ParsePersonID(text)
		if err != nil {
			return false, err
		}
		who, err := s.Store.Person(ctx, id)
		if errors.Is(err, store.ErrNotFound) {
			return false, nil
		}
		if err != nil {
			return false, err
		}
		clock, err := s.Store.Clock(ctx)
		return err == nil && who.May(acts[actCounter].who, clock.Today()), err
	}
}

func (s *Server) cameraStation(r *http.Request) camera.Station {
	line := s.Desk.Sessions().Line(r)
	return camera.Station{ID: line.ID(), Name: stationOf(r), Check: s.holds(line)}
}

// lineEnded notes why a camera's line could not be had. What a page sent that were no
// frames is its own affair.
func (s *Server) lineEnded(r *http.Request, err error) {
	if err != nil {
		s.Log.InfoContext(r.Context(), "a camera's line has ended", "id", requestID(r.Context()), "error", err)
	}
}
