package jobs

import (
	"errors"
	"fmt"
	"time"

	"github.com/hibiken/asynq"
)

// Stats are how a queue stands, over all processes.
type Stats struct {
	Due       int           // jobs that could run now and wait for a free place
	Scheduled int           // jobs that wait for their time
	Retrying  int           // jobs that failed and wait for another try
	Overdue   time.Duration // since the time of the oldest job that should have begun
}

// Stats looks how the queue stands.
func (a *Asynq) Stats() (Stats, error) {
	inspector := asynq.NewInspectorFromRedisClient(a.rdb)
	info, err := inspector.GetQueueInfo(a.opts.Queue)
	if errors.Is(err, asynq.ErrQueueNotFound) {
		return Stats{}, nil // nothing was ever queued
	}
	if err != nil {
		return Stats{}, fmt.Errorf("look at the queue %s: %w", a.opts.Queue, err)
	}
	s := Stats{Due: info.Pending, Scheduled: info.Scheduled, Retrying: info.Retry, Overdue: info.Latency}
	// Where no process moves jobs on whose time has come, they stay scheduled.
	next, err := inspector.ListScheduledTasks(a.opts.Queue, asynq.PageSize(1))
	if err != nil {
		return Stats{}, fmt.Errorf("look at the queue %s: %w", a.opts.Queue, err)
	}
	for _, task := range next {
		s.Overdue = max(s.Overdue, time.Since(task.NextProcessAt))
	}
	return s, nil
}
