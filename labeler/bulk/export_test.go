package bulk

// StopBefore has do called before each step of a run that outlasts the process.
func (r *Run) StopBefore(do func(step string) error) { r.step = do }

// PartSize is how many tags are recorded in one act.
const PartSize = partSize
