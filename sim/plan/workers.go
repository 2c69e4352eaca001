package plan

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// workers do short pieces of work side by side, a core each. They end with end.
type workers struct {
	rounds []chan *round
}

// A round is pieces of work, dealt out one by one.
type round struct {
	next, n int64
	do      func(int)
	done    sync.WaitGroup
}

func newWorkers() *workers {
	w := &workers{}
	for range runtime.GOMAXPROCS(0) - 1 {
		rounds := make(chan *round)
		w.rounds = append(w.rounds, rounds)
		go func() {
			for r := range rounds {
				r.work()
				r.done.Done()
			}
		}()
	}
	return w
}

func (r *round) work() {
	for {
		i := atomic.AddInt64(&r.next, 1) - 1
		if i >= r.n {
			return
		}
		r.do(int(i))
	}
}

// each does n pieces and returns when all are done.
func (w *workers) each(n int, do func(int)) {
	r := &round{n: int64(n), do: do}
	helpers := w.rounds[:min(len(w.rounds), max(0, n-1))]
	r.done.Add(len(helpers))
	for _, rounds := range helpers {
		rounds <- r
	}
	r.work()
	r.done.Wait()
}

func (w *workers) end() {
	for _, rounds := range w.rounds {
		close(rounds)
	}
}
