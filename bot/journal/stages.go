package journal

import (
	"context"
	"fmt"
)

// SetStage notes the stage that a kickoff has come to, for those who count open
// kickoffs; empty once it has ended.
func (x *Index) SetStage(ctx context.Context, key Key, stage string) error {
	_, err := onTeam(x.store, key.Team, "note the stage of kickoff "+key.Kickoff, func(t string) (int64, error) {
		if stage == "" {
			return x.rdb.HDel(ctx, t+keyStages, key.Kickoff).Result()
		}
		return x.rdb.HSet(ctx, t+keyStages, key.Kickoff, stage).Result()
	})
	return err
}

// Stages counts the open kickoffs of all teams by the stage that was noted.
func (x *Index) Stages(ctx context.Context) (map[string]int, error) {
	teams, err := x.Teams(ctx)
	if err != nil {
		return nil, err
	}
	open := map[string]int{}
	for _, team := range teams {
		t, err := x.team(team)
		if err != nil {
			return nil, err
		}
		stages, err := x.rdb.HVals(ctx, t+keyStages).Result()
		if err != nil {
			return nil, fmt.Errorf("count the open kickoffs of team %s: %w", team, err)
		}
		for _, stage := range stages {
			open[stage]++
		}
	}
	return open, nil
}
