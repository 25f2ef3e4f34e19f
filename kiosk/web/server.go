package web

import (
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"sync"

	"cribgate/kiosk/audit"
	"cribgate/kiosk/bench"
	"cribgate/kiosk/camera"
	"cribgate/kiosk/copies"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/desk"
	"cribgate/kiosk/live"
	"cribgate/kiosk/morning"
	"cribgate/kiosk/scan"
	"cribgate/kiosk/worn"
	"cribgate/labeler/print"
	"cribgate/store"
	"cribgate/store/photos"
)

// Config is what the pages work with. Every field but Copies, Printed and Secure is
// required.
type Config struct {
	Store   *store.Store
	Counter *counter.Counter
	Audit   *audit.Audit   // of the register: whether it holds
	Copies  *copies.Keeper // of the register, and the room on the disks; nil where nobody looks after them
	Desk    *desk.Desk
	Bench   *bench.Bench         // inspections that are not signed yet
	Keys    print.Keys           // of the tags
	Photos  photos.Album         // pictures beside the register
	Printed func() morning.State // what is known of the day sheet that is printed by itself; nil where none is
	Live    *live.Hub            // what tells open pages that the register has moved on
	Cameras *camera.Cameras
	Worn    *worn.Tags // how the tags look that hang on slings
	Log     *slog.Logger
	Secure  bool   // browsers reach the kiosk by TLS: cookies travel nowhere else
	Version string // of the program, shown at the foot of each page
}

// atOnce is how many pictures are decoded at the same time; each takes a
// processor and up to some hundred megabytes while it lasts.
const atOnce = 1

// A Server answers the kiosk's requests. It is safe for concurrent use.
type Server struct {
	Config
	assets    *assets
	templates templates
	origin    *http.CrossOriginProtection
	nav       []place
	pictures  *scan.Reader
	giving    sync.Mutex // held while a one-time PIN is given
	shelves   shelves    // slings to choose from
	lacking   lacking    // what the crib lacks, as it was counted last
	waiting   waiting    // lifts that riggers stated, for the counter
}

// New parses every template and asset; an error means that the program itself is
// broken.
func New(c Config) (*Server, error) {
	if c.Store == nil || c.Counter == nil || c.Audit == nil || c.Desk == nil || c.Bench == nil || c.Keys == nil || c.Live == nil || c.Cameras == nil || c.Worn == nil || c.Log == nil || c.Version == "" {
		return nil, errors.New("web: Config has an empty field")
	}
	assets, err := loadAssets()
	if err != nil {
		return nil, err
	}
	templates, err := parsedTemplates()
	if err != nil {
		return nil, err
	}
	s := &Server{Config: c, assets: assets, templates: templates, origin: http.NewCrossOriginProtection(), pictures: scan.NewReader(atOnce)}
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
	outer.HandleFunc("GET /live", s.live)
	outer.HandleFunc("GET /camera/line", s.cameraLine)
	outer.HandleFunc("GET /camera/station", s.stationLine)
	outer.HandleFunc("GET "+phonePath+"/line", s.phoneLine)
	outer.Handle("/", protect(unattended(pages)))
	return s.observe(outer)
}

// sessionFailed answers where the session could not be read or written. No
// session can be counted on, so the answer is plain.
func (s *Server) sessionFailed(w http.ResponseWriter, r *http.Request, err error) {
	id := requestID(r.Context())
	s.Log.ErrorContext(r.Context(), "session failed", "id", id, "error", err)
	seen := visible(err, id)
	http.Error(w, fmt.Sprintf("%s %s Reference %s.", seen.Sentence, seen.Next, id), statuses[seen.Code])
}
