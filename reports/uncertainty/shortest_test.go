package uncertainty

// Shortest returns the ends of the shortest interval, which the examples of JCGM 101:2008 print; reports use the
// probabilistically symmetric one.
func (s *Simulated) Shortest() [2]float64 { return s.trials.shortest() }

// shortest returns the ends of the shortest interval: JCGM 101:2008, 7.7.
func (o *ordered) shortest() [2]float64 {
	low, high := o.symmetric()
	for i, y := range o.values[:len(o.values)-o.span] {
		if o.values[i+o.span]-y < high-low {
			low, high = y, o.values[i+o.span]
		}
	}
	return [2]float64{low, high}
}
