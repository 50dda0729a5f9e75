package verify

import "wedgework/optics/parallel"

// each does n independent things on all processors.
func each(n int, do func(i int) error) error { return parallel.Each(n, do) }
