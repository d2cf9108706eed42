package journal

import (
	"context"
	"fmt"
	"slices"
)

// Teams lists the teams that have kickoffs, open or ended, or a channel that
// was greeted, in a stable order.
func (j *Journal) Teams(ctx context.Context) ([]string, error) {
	teams, err := j.rdb.SMembers(ctx, j.teams()).Result()
	if err != nil {
		return nil, fmt.Errorf("list the teams: %w", err)
	}
	slices.Sort(teams)
	return teams, nil
}
