package study

import "math"

// A Service is what the set wants every so many engine hours.
type Service struct {
	Name   string
	EveryH float64
}

// A ServiceDue is a service that falls due in a run of the sheet, or before it; if
// more than once, the first time.
type ServiceDue struct {
	Name   string
	AtH    float64 // of all engine hours
	Run    int     // of the sheet's runs
	Minute int     // from the first day's midnight on; the match of the run where it is due already
}

// Due returns the services that fall due in the sheet's runs, after so many engine
// hours so far (0 or more), the first time in each run.
func (s *Sheet) Due(services []Service, soFarH float64) []ServiceDue {
	const roundingH = 1e-9
	var due []ServiceDue
	hours := soFarH
	for i := range s.Runs {
		r := &s.Runs[i]
		for _, service := range services {
			if r.EngineH == 0 {
				continue
			}
			first := math.Ceil((hours-roundingH)/service.EveryH) * service.EveryH
			if first == 0 {
				first = service.EveryH
			}
			if at := first; at < hours+r.EngineH-roundingH || at <= hours {
				minute := r.Match
				if at > hours {
					on := max(r.EngineOn, s.Minute)
					minute = on + int(math.Round(float64(r.Stop-on)*(at-hours)/r.EngineH))
				}
				due = append(due, ServiceDue{service.Name, at, i, minute})
			}
		}
		hours += r.EngineH
	}
	return due
}
