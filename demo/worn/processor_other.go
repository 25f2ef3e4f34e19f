//go:build !unix

package worn

import "time"

// processor is the clock where a process is not told what it took of the processors.
func processor() time.Duration { return time.Duration(time.Now().UnixNano()) }
