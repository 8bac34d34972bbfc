package receiver

import "context"

// LookAt looks at ports that are not in this machine's list.
func LookAt(ctx context.Context, names []string) []Port { return look(ctx, names) }
