package sqlite

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"time"

	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/database"
)

// Schema says what a file is for and how it is laid out.
type Schema struct {
	// AppID marks the file in its header; a file with another mark is not ours.
	AppID int32
	// Migrations holds numbered SQL files, 0001_NAME.sql and so on, at its
	// root. They only go forward; a file that was released is never edited.
	Migrations fs.FS
}

// steps is the table of the migrations that made a file, each with the hash of
// its text. It is goose's version table.
const steps = "schema_step"

const (
	createSteps = "CREATE TABLE " + steps + " (version INTEGER PRIMARY KEY, sha256 BLOB NOT NULL, at TEXT NOT NULL) STRICT"
	insertStep  = "INSERT INTO " + steps + " (version, sha256, at) VALUES (?, ?, ?)"
	latestStep  = "SELECT max(version) FROM " + steps
	listSteps   = "SELECT version, sha256 FROM " + steps + " ORDER BY version DESC"
)

// errRaced says that another process made the step first.
var errRaced = errors.New("another process made this step")

// migrate brings the file to the newest version that schema has. Each step is
// one immediate transaction in which the version is read again before it
// commits, so that of two processes only one makes the step.
func migrate(ctx context.Context, db *sql.DB, schema Schema) error {
	book := &stepBook{hash: make(map[int64][32]byte)}
	p, err := goose.NewProvider(goose.DialectCustom, db, schema.Migrations,
		goose.WithStore(book), goose.WithDisableGlobalRegistry(true))
	if err != nil {
		return fmt.Errorf("read the migrations: %w", err)
	}
	for _, s := range p.ListSources() {
		text, err := fs.ReadFile(schema.Migrations, path.Base(s.Path))
		if err != nil {
			return fmt.Errorf("read a migration: %w", err)
		}
		book.hash[s.Version] = sha256.Sum256(text)
	}
	for {
		current, target, err := p.GetVersions(ctx)
		if err != nil {
			return Explain(err)
		}
		if current > target {
			return fmt.Errorf("%w: it has schema %d, this program knows %d", ErrNewer, current, target)
		}
		if current == target {
			return book.compare(ctx, db)
		}
		if _, err := p.UpByOne(ctx); err != nil && !errors.Is(err, errRaced) {
			again, _, versionErr := p.GetVersions(ctx)
			if versionErr != nil || again == current {
				return Explain(err)
			}
		}
	}
}

// newest is the newest version that schema has, without a database.
func (s Schema) newest() (int64, error) {
	names, err := fs.Glob(s.Migrations, "*.sql")
	if err != nil {
		return 0, fmt.Errorf("read the migrations: %w", err)
	}
	var most int64
	for _, name := range names {
		v, err := goose.NumericComponent(name)
		if err != nil {
			return 0, fmt.Errorf("read the migrations: %w", err)
		}
		most = max(most, v)
	}
	return most, nil
}

// stepBook keeps goose's versions together with the hash of each step's text
// and sets the version in the file's header in the same transaction.
type stepBook struct{ hash map[int64][32]byte }

var _ database.Store = (*stepBook)(nil)

func (b *stepBook) Tablename() string { return steps }

func (b *stepBook) CreateVersionTable(ctx context.Context, db database.DBTxConn) error {
	_, err := db.ExecContext(ctx, createSteps)
	return err
}

// Insert runs inside the step's transaction, which holds the write lock.
func (b *stepBook) Insert(ctx context.Context, db database.DBTxConn, req database.InsertRequest) error {
	var latest sql.NullInt64
	if err := db.QueryRowContext(ctx, latestStep).Scan(&latest); err != nil {
		return err
	}
	if latest.Valid && latest.Int64 != req.Version-1 || !latest.Valid && req.Version != 0 {
		return fmt.Errorf("step %d: %w", req.Version, errRaced)
	}
	hash := b.hash[req.Version]
	if _, err := db.ExecContext(ctx, insertStep, req.Version, hash[:], time.Now().UTC().Format(time.RFC3339)); err != nil {
		return err
	}
	_, err := db.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d", req.Version))
	return err
}

// Delete is a step back, and there is none.
func (b *stepBook) Delete(context.Context, database.DBTxConn, int64) error {
	return errors.ErrUnsupported
}

func (b *stepBook) GetMigration(ctx context.Context, db database.DBTxConn, version int64) (*database.GetMigrationResult, error) {
	list, err := b.ListMigrations(ctx, db)
	if err != nil {
		return nil, err
	}
	for _, m := range list {
		if m.Version == version {
			return &database.GetMigrationResult{IsApplied: true}, nil
		}
	}
	return nil, database.ErrVersionNotFound
}

func (b *stepBook) GetLatestVersion(ctx context.Context, db database.DBTxConn) (int64, error) {
	var latest sql.NullInt64
	if err := db.QueryRowContext(ctx, latestStep).Scan(&latest); err != nil {
		return 0, err
	}
	if !latest.Valid {
		return 0, database.ErrVersionNotFound
	}
	return latest.Int64, nil
}

func (b *stepBook) ListMigrations(ctx context.Context, db database.DBTxConn) ([]*database.ListMigrationsResult, error) {
	var list []*database.ListMigrationsResult
	err := b.each(ctx, db, func(version int64, _ []byte) error {
		list = append(list, &database.ListMigrationsResult{Version: version, IsApplied: true})
		return nil
	})
	return list, err
}

// compare holds the steps that made the file against those of this program.
func (b *stepBook) compare(ctx context.Context, db *sql.DB) error {
	return b.each(ctx, db, func(version int64, hash []byte) error {
		if want, known := b.hash[version]; version != 0 && (!known || string(want[:]) != string(hash)) {
			return fmt.Errorf("%w: step %d", ErrEdited, version)
		}
		return nil
	})
}

func (b *stepBook) each(ctx context.Context, db database.DBTxConn, f func(version int64, hash []byte) error) error {
	rows, err := db.QueryContext(ctx, listSteps)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var version int64
		var hash []byte
		if err := rows.Scan(&version, &hash); err != nil {
			return err
		}
		if err := f(version, hash); err != nil {
			return err
		}
	}
	return rows.Err()
}
