package jobs

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/hibiken/asynq"
)

// Forget removes the jobs that mine accepts, except one that runs at this
// moment: those that wait, that were given up, and that are done but whose ids
// are still known. Their ids may be used again.
func (a *Asynq) Forget(ctx context.Context, mine func(id string) bool) error {
	inspector := asynq.NewInspectorFromRedisClient(a.rdb)
	for _, list := range []func(string, ...asynq.ListOption) ([]*asynq.TaskInfo, error){
		inspector.ListPendingTasks, inspector.ListScheduledTasks, inspector.ListRetryTasks, inspector.ListArchivedTasks, inspector.ListCompletedTasks,
	} {
		if err := a.forgetOf(ctx, inspector, list, mine); err != nil {
			return fmt.Errorf("forget jobs of the queue %s: %w", a.opts.Queue, err)
		}
	}
	return nil
}

// forgetPage is how many jobs are listed at once.
const forgetPage = 500

// forgetOf reads a whole list before it removes anything, since removing shifts
// the pages that follow.
func (a *Asynq) forgetOf(ctx context.Context, inspector *asynq.Inspector, list func(string, ...asynq.ListOption) ([]*asynq.TaskInfo, error), mine func(string) bool) error {
	var ids []string
	for page := 1; ; page++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		tasks, err := list(a.opts.Queue, asynq.PageSize(forgetPage), asynq.Page(page))
		if errors.Is(err, asynq.ErrQueueNotFound) {
			return nil // nothing was ever queued
		}
		if err != nil {
			return err
		}
		for _, task := range tasks {
			if mine(task.ID) {
				ids = append(ids, task.ID)
			}
		}
		if len(tasks) < forgetPage {
			break
		}
	}
	for _, id := range ids {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := inspector.DeleteTask(a.opts.Queue, id); err != nil && !errors.Is(err, asynq.ErrTaskNotFound) && !a.running(inspector, id) {
			return err
		}
	}
	return nil
}

// running reports whether a job began since it was listed.
func (a *Asynq) running(inspector *asynq.Inspector, id string) bool {
	info, err := inspector.GetTaskInfo(a.opts.Queue, id)
	return err == nil && info.State == asynq.TaskStateActive || errors.Is(err, asynq.ErrTaskNotFound)
}

// Forget removes the jobs that mine accepts. Their ids may be used again.
func (v *Virtual) Forget(_ context.Context, mine func(id string) bool) error {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.wait = slices.DeleteFunc(v.wait, func(w *waiter) bool { return mine(w.job.ID) })
	for id := range v.known {
		if mine(id) {
			delete(v.known, id)
		}
	}
	v.failed = slices.DeleteFunc(v.failed, func(f Failure) bool { return mine(f.Job.ID) })
	return nil
}
