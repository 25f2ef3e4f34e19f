package bulk

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"cribgate/labeler/draft"
)

// What a run's directory holds beside its pages. The plan is renamed as the very
// last step, so that a directory says at any moment whether its run is done.
const (
	planFile   = "run.plan"
	doneFile   = "run.done"
	reportFile = "report.tsv"
)

// A RunError says what keeps a run from being begun or gone on with in a
// directory. It wraps ErrUnfinished, ErrDone, ErrNoRun or ErrNotEmpty.
type RunError struct {
	Dir string
	Err error
}

// Error names the directory.
func (e *RunError) Error() string { return fmt.Sprintf("bulk: %s: %v", e.Dir, e.Err) }

// Unwrap returns the reason.
func (e *RunError) Unwrap() error { return e.Err }

// standing says which run a directory has, as one of the four: ErrNoRun where it
// is missing or holds nothing but what a run left that was killed before it had
// its plan.
func standing(dir string) (stands, err error) {
	entries, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("bulk: look into %s: %w", dir, err)
	}
	stands = ErrNoRun
	for _, e := range entries {
		switch {
		case e.Name() == planFile:
			return ErrUnfinished, nil
		case e.Name() == doneFile:
			return ErrDone, nil
		case !draft.Is(e.Name()):
			stands = ErrNotEmpty
		}
	}
	return stands, nil
}

// makeDir makes the directory of a run with its plan in it. What it made it takes
// away where that fails.
func makeDir(dir string, p Plan) (err error) {
	if err := os.Mkdir(dir, 0o777); err == nil {
		defer func() {
			if err != nil {
				err = errors.Join(err, os.Remove(dir))
			}
		}()
	} else if !errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("bulk: make a directory for the run: %w", err)
	}
	d, err := draft.Create(filepath.Join(dir, planFile))
	if err != nil {
		return fmt.Errorf("bulk: %w", err)
	}
	err = p.Write(d)
	if err == nil {
		err = d.End()
	}
	if err == nil {
		err = d.Keep()
	}
	if err == nil {
		err = errors.Join(draft.SyncDir(dir), draft.SyncDir(filepath.Dir(dir)))
	}
	if err != nil {
		return errors.Join(fmt.Errorf("bulk: write the plan: %w", err), d.Drop())
	}
	return nil
}

// readDir reads the plan of a run that is not finished.
func readDir(dir string) (Plan, error) {
	stands, err := standing(dir)
	switch {
	case err != nil:
		return Plan{}, err
	case stands == ErrNotEmpty:
		return Plan{}, &RunError{dir, ErrNoRun}
	case stands != ErrUnfinished:
		return Plan{}, &RunError{dir, stands}
	}
	file, err := os.Open(filepath.Join(dir, planFile))
	if err != nil {
		return Plan{}, fmt.Errorf("bulk: read the plan: %w", err)
	}
	defer file.Close() // only read from
	return ReadPlan(file)
}

// closeDir marks the run as done.
func closeDir(dir string) error {
	if err := os.Rename(filepath.Join(dir, planFile), filepath.Join(dir, doneFile)); err != nil {
		return fmt.Errorf("bulk: mark the run as done: %w", err)
	}
	return draft.SyncDir(dir)
}
