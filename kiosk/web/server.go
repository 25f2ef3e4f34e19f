package web

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"time"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/kiosk/desk"
)

// People is what the pages need of the register about people and the crib.
type People interface {
	// Crib is the crib as it is now.
	Crib(ctx context.Context) (state.Crib, error)
	// Person finds one by id; the zero Person if there is none.
	Person(ctx context.Context, id event.PersonID) (state.Person, error)
	// PersonNamed finds the one who is here under this name, without regard to
	// case; the zero Person if there is none.
	PersonNamed(ctx context.Context, name string) (state.Person, error)
	// People lists all, by name.
	People(ctx context.Context) ([]state.Person, error)
	// AddPerson enters a person; the same key again gives the same person. by is
	// who adds. ErrNameTaken if someone who is here has the name.
	AddPerson(ctx context.Context, by event.PersonID, key, name string, roles event.Roles) (event.PersonID, error)
	// PINSet records that a PIN was set.
	PINSet(ctx context.Context, by, person event.PersonID, oneTime bool) error
}

// ErrNameTaken reports that someone who is here has the name.
var ErrNameTaken = errors.New("web: the name is taken")

// Config is what the pages work with. Every field is required.
type Config struct {
	People  People
	Desk    *desk.Desk
	Log     *slog.Logger
	Now     func() time.Time // the crib's clock; never used for sign-in
	Version string           // of the program, shown at the foot of each page
}

// A Server answers the kiosk's requests. It is safe for concurrent use.
type Server struct {
	Config
	assets    *assets
	templates templates
	origin    *http.CrossOriginProtection
	nav       []place
}

// New parses every template and asset; an error means that the program itself is
// broken.
func New(c Config) (*Server, error) {
	if c.People == nil || c.Desk == nil || c.Log == nil || c.Now == nil || c.Version == "" {
		return nil, errors.New("web: Config has an empty field")
	}
	assets, err := loadAssets()
	if err != nil {
		return nil, err
	}
	templates, err := parseTemplates()
	if err != nil {
		return nil, err
	}
	s := &Server{Config: c, assets: assets, templates: templates, origin: http.NewCrossOriginProtection()}
	for _, r := range routes() {
		if r.nav != "" {
			s.nav = append(s.nav, place{Name: r.nav, Path: r.path, act: r.act})
		}
	}
	return s, nil
}

// Handler answers all requests.
func (s *Server) Handler() http.Handler {
	mux := http.NewServeMux()
	for _, r := range routes() {
		mux.HandleFunc(r.method+" "+r.path, func(w http.ResponseWriter, q *http.Request) { s.serve(w, q, r) })
	}
	mux.HandleFunc("/", func(w http.ResponseWriter, q *http.Request) {
		s.serve(w, q, route{act: actNothing, serve: func(*Server, *visit) error { return errNoPage }})
	})
	pages := s.Desk.Sessions().Wrap(mux, s.sessionFailed)
	outer := http.NewServeMux()
	outer.Handle("GET "+s.assets.prefix, s.assets)
	outer.Handle("/", protect(pages))
	return s.observe(outer)
}

// sessionFailed answers where the session could not be read or written. No
// session can be counted on, so the answer is plain.
func (s *Server) sessionFailed(w http.ResponseWriter, r *http.Request, err error) {
	id := requestID(r.Context())
	s.Log.ErrorContext(r.Context(), "session failed", "id", id, "error", err)
	http.Error(w, fmt.Sprintf("%s Reference %s.", sorry, id), http.StatusInternalServerError)
}
