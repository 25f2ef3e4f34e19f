package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"path/filepath"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"cribgate/core/release"
	"cribgate/kiosk/audit"
	"cribgate/kiosk/bench"
	"cribgate/kiosk/camera"
	"cribgate/kiosk/copies"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/desk"
	"cribgate/kiosk/live"
	"cribgate/kiosk/morning"
	"cribgate/kiosk/web"
	"cribgate/kiosk/worn"
	"cribgate/labeler/commandline"
	"cribgate/store"
	"cribgate/store/keyring"
	"cribgate/store/photos"
)

type serving struct {
	register, listen, logFormat string
	behindTLS                   bool
	verifyEvery                 time.Duration
	copies                      copies.Settings
	morning                     morning.Settings
	morningAt                   string
}

func serveCommand() *cobra.Command {
	var s serving
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Serve the counter to browsers",
		Long: `Opens the register and serves its pages until it is interrupted. By default only
this machine can reach it; --listen 0.0.0.0:8480 lets the local network in, where
the pages should stand behind a server that speaks TLS: --behind-tls then keeps
the cookies off every other way.

Beside the counter the whole register is verified once a day, slowly. Where it
does not hold, every page says so and nothing is handed out until it holds again.

--copy-to has copies of the register made in a directory, best on another disk,
which has to be there: one when the newest is as old as --copy-every. They are what
backup makes; --keep and --keep-days say which stay. The pages say when no copy
could be made, and days before a disk is full.

--day-sheet-to has the day sheet printed by itself once a day at --day-sheet-at, by the
crib's clock: the lifts of the day and what is set aside for them, and the rack place by
place, for the day the power goes. It is ipp://HOST/PATH, ipps://HOST/PATH or
tcp://HOST:PORT. What could not be printed is tried again until the day is over, and the
page of the day says so. Without it the sheet is there on that page, as PDF.`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			log, err := newLog(cmd.ErrOrStderr(), s.logFormat)
			if err != nil {
				return err
			}
			return serve(cmd.Context(), s, log, cmd.OutOrStdout())
		},
	}
	registerFlag(cmd, &s.register)
	cmd.Flags().StringVar(&s.listen, "listen", "127.0.0.1:8480", "address and port to serve on")
	cmd.Flags().BoolVar(&s.behindTLS, "behind-tls", false, "browsers reach the kiosk through a server that speaks TLS")
	cmd.Flags().DurationVar(&s.verifyEvery, "verify-every", audit.DefaultEvery, "how often the whole register is verified; 0 for never")
	s.copies = copies.Defaults()
	cmd.Flags().StringVar(&s.copies.Dir, "copy-to", "", "directory of the copies; without it none are made")
	cmd.Flags().DurationVar(&s.copies.Every, "copy-every", s.copies.Every, "how often a copy is made")
	cmd.Flags().IntVar(&s.copies.Keep.Newest, "keep", s.copies.Keep.Newest, "how many of the newest copies stay")
	cmd.Flags().IntVar(&s.copies.Keep.Days, "keep-days", s.copies.Keep.Days, "for how many days the last copy of each stays as well")
	cmd.Flags().StringVar(&s.morning.Printer, "day-sheet-to", "", "URL of the printer of the day sheet; without it none is printed by itself")
	cmd.Flags().StringVar(&s.morningAt, "day-sheet-at", "05:30", "time of day at which it is printed, by the crib's clock")
	cmd.Flags().StringVar(&s.logFormat, "log", "text", "form of the log on standard error: text or json")
	return cmd
}

func newLog(w io.Writer, format string) (*slog.Logger, error) {
	var h slog.Handler
	switch format {
	case "text":
		h = slog.NewTextHandler(w, nil)
	case "json":
		h = slog.NewJSONHandler(w, nil)
	default:
		return nil, commandline.Usagef("serve: --log %q is not text or json", format)
	}
	return slog.New(h).With("version", release.Version()), nil
}

func serve(ctx context.Context, s serving, log *slog.Logger, out io.Writer) error {
	if s.verifyEvery < 0 {
		return commandline.Usagef("serve: --verify-every %s is less than nothing", s.verifyEvery)
	}
	if err := s.copies.Check(); err != nil {
		return commandline.Usagef("serve: %w", err)
	}
	var err error
	if s.morning.At, err = morning.ParseAt(s.morningAt); err == nil {
		err = s.morning.Check()
	}
	if err != nil {
		return commandline.Usagef("serve: %w", err)
	}
	k, err := open(ctx, s.register, store.Options{Program: release.Version(), Log: log}, s.behindTLS, &s.copies)
	if err != nil {
		return err
	}
	k.verifyEvery = s.verifyEvery
	if s.morning.Printer != "" {
		register, _, _ := store.Paths(s.register)
		k.morning = morning.New(s.morning, k.pages, filepath.Join(filepath.Dir(register), morning.File), morning.Options{Log: log})
		k.pages.Printed = k.morning.State
	}
	listener, err := (&net.ListenConfig{}).Listen(ctx, "tcp", s.listen)
	if err != nil {
		return errors.Join(fmt.Errorf("serve: %w", err), k.Close())
	}
	_, err = fmt.Fprintf(out, "serving http://%s\n", listener.Addr())
	return errors.Join(err, k.Serve(ctx, listener), k.Close())
}

// Kiosk is an open register with everything that serves it.
type Kiosk struct {
	Store   *store.Store
	Desk    *desk.Desk
	Bench   *bench.Bench
	Counter *counter.Counter
	Audit   *audit.Audit
	hub     *live.Hub
	cameras *camera.Cameras
	worn    *worn.Tags
	pages   *web.Server
	handler http.Handler
	log     *slog.Logger

	verifyEvery time.Duration   // 0: never, which is how a test or a demonstration serves
	copies      *copies.Keeper  // nil: nobody makes copies, which is how they serve as well
	morning     *morning.Keeper // nil: no sheet is printed by itself
}

// Open opens the register that path names, with its desk and keys. The options
// are the register's; only a demonstration or a test sets their clock. Program must
// be set: each page shows it.
func Open(ctx context.Context, path string, o store.Options) (*Kiosk, error) {
	return open(ctx, path, o, false, nil)
}

// open opens a register; where copying is nil, nobody makes copies or looks at the
// disks.
func open(ctx context.Context, path string, o store.Options, secure bool, copying *copies.Settings) (*Kiosk, error) {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	register, deskFile, keys := store.Paths(path)
	ring, err := keyring.Load(keys)
	if err != nil {
		return nil, fmt.Errorf("keys: %w", err)
	}
	for _, file := range ring.Exposed {
		o.Log.Warn(keyring.Warning, "file", file)
	}
	st, err := store.Open(ctx, register, o)
	if err != nil {
		return nil, err
	}
	d, err := desk.Open(ctx, deskFile, desk.Options{Secure: secure})
	if err != nil {
		return nil, errors.Join(err, st.Close())
	}
	drafts, err := bench.Open(ctx, filepath.Join(filepath.Dir(register), bench.File), bench.Options{Log: o.Log})
	if err != nil {
		return nil, errors.Join(err, d.Close(), st.Close())
	}
	k := &Kiosk{Store: st, Desk: d, Bench: drafts, Audit: audit.Open(st, filepath.Join(filepath.Dir(register), audit.File), o.Log), log: o.Log}
	k.Counter = counter.New(st, ring).Under(k.Audit)
	if copying != nil {
		k.copies = copies.New(st, register, *copying, copies.Options{Log: o.Log})
	}
	head, err := st.Head(ctx)
	if err != nil {
		return nil, errors.Join(err, k.Close())
	}
	k.hub = live.NewHub(head.At)
	k.worn = worn.New(st, ring, o.Log)
	k.cameras = camera.Open(camera.Options{Log: o.Log, Known: k.worn})
	pages, err := web.New(web.Config{Store: st, Counter: k.Counter, Audit: k.Audit, Copies: k.copies, Desk: d, Bench: drafts, Keys: ring, Photos: photos.In(filepath.Dir(register)), Live: k.hub, Cameras: k.cameras, Worn: k.worn, Secure: secure, Log: o.Log, Version: o.Program})
	if err != nil {
		return nil, errors.Join(err, k.Close())
	}
	k.pages, k.handler = pages, pages.Handler()
	return k, nil
}

// How long a browser may take over its part (common practice, no source).
const (
	headerWithin = 10 * time.Second
	bodyWithin   = 60 * time.Second
	answerWithin = 60 * time.Second
	idleFor      = 2 * time.Minute
	endWithin    = 10 * time.Second
)

// Serve answers browsers on a listener, which it closes, until ctx ends; then it
// finishes what it has begun.
func (k *Kiosk) Serve(ctx context.Context, listener net.Listener) error {
	server := &http.Server{
		Handler: k.handler, ReadHeaderTimeout: headerWithin, ReadTimeout: bodyWithin, WriteTimeout: answerWithin,
		IdleTimeout: idleFor, MaxHeaderBytes: 64 << 10, ErrorLog: slog.NewLogLogger(k.log.Handler(), slog.LevelWarn),
	}
	watching, stop := context.WithCancel(ctx)
	defer stop()
	var beside sync.WaitGroup
	beside.Go(func() { k.pages.Follow(watching) })
	beside.Go(func() { k.worn.Follow(watching) })
	if k.verifyEvery > 0 {
		beside.Go(func() { k.Audit.Run(watching, k.verifyEvery) })
	}
	if k.copies != nil {
		beside.Go(func() { k.copies.Run(watching) })
	}
	if k.morning != nil {
		beside.Go(func() { k.morning.Run(watching) })
	}
	beside.Go(func() { k.tidy(watching) })
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(listener) }()
	var err error
	select {
	case err = <-failed:
	case <-ctx.Done():
		ending, cancel := context.WithTimeout(context.WithoutCancel(ctx), endWithin)
		defer cancel()
		k.hub.Close()
		k.cameras.Close()
		err = server.Shutdown(ending)
		<-failed
	}
	stop()
	beside.Wait()
	if errors.Is(err, http.ErrServerClosed) {
		err = nil
	}
	if err != nil {
		return fmt.Errorf("serve: %w", err)
	}
	return nil
}

// Handler answers requests without a listener, for tests.
func (k *Kiosk) Handler() http.Handler { return k.handler }

// Close closes register and desk. Serve must have ended.
func (k *Kiosk) Close() error {
	if k.hub != nil {
		k.hub.Close()
	}
	if k.cameras != nil {
		k.cameras.Close()
	}
	return errors.Join(k.Bench.Close(), k.Desk.Close(), k.Store.Close())
}
