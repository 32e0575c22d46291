package deploy_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"

	"partwright/api/command"
)

// indexedJob is what matters of a job whose pods are numbered.
type indexedJob struct {
	Kind string
	Spec struct {
		CompletionMode       string
		Completions          int
		BackoffLimitPerIndex int
		PodFailurePolicy     struct {
			Rules []struct {
				Action      string
				OnExitCodes struct {
					Operator string
					Values   []int
				}
			}
		}
		Template struct {
			Spec struct {
				RestartPolicy                string
				AutomountServiceAccountToken *bool
				SecurityContext              struct{ RunAsNonRoot bool }
				Containers                   []struct {
					Args []string
					runsIn
					VolumeMounts []struct{ MountPath string }
				}
			}
		}
	}
}

// A job runs as many shards as the program is told of, with flags that it has, shut in as
// the service is, and does not try again what is wrong use. Without completionMode
// Indexed pods would have no number (Kubernetes, "Jobs").
func TestShardsRunAsAnIndexedJob(t *testing.T) {
	text, err := yaml.YAMLToJSON(read(t, "kubernetes/archive/shards.yaml"))
	var job indexedJob
	if err == nil {
		err = json.Unmarshal(text, &job)
	}
	if err != nil {
		t.Fatal(err)
	}
	s := job.Spec
	if job.Kind != "Job" || s.CompletionMode != "Indexed" || s.BackoffLimitPerIndex < 1 || s.Template.Spec.RestartPolicy != "Never" {
		t.Errorf("a %s whose pods have no numbers, or are not begun again one by one: %+v", job.Kind, s)
	}
	if len(s.PodFailurePolicy.Rules) == 0 || s.PodFailurePolicy.Rules[0].Action != "FailJob" ||
		!slices.Equal(s.PodFailurePolicy.Rules[0].OnExitCodes.Values, []int{2}) {
		t.Error("wrong use, status 2, is tried again")
	}
	pod := s.Template.Spec
	if !pod.SecurityContext.RunAsNonRoot || pod.AutomountServiceAccountToken == nil || *pod.AutomountServiceAccountToken || len(pod.Containers) != 1 {
		t.Fatal("a pod may run as root, or holds a token of the cluster, or is not one container")
	}
	c := pod.Containers[0]
	if !c.SecurityContext.ReadOnlyRootFilesystem || c.SecurityContext.AllowPrivilegeEscalation == nil || *c.SecurityContext.AllowPrivilegeEscalation ||
		!slices.Equal(c.SecurityContext.Capabilities.Drop, []string{"ALL"}) || c.Resources.Limits["memory"] == "" {
		t.Errorf("the container may more than it needs: %+v", c)
	}
	if len(c.VolumeMounts) != 1 || c.VolumeMounts[0].MountPath != "/tmp" {
		t.Error("answers have no place until they are whole: the root is read-only")
	}
	if !slices.Contains(c.Args, fmt.Sprintf("--shards=%d", s.Completions)) {
		t.Errorf("%q with %d completions", c.Args, s.Completions)
	}
	cmd, rest, err := command.New(command.Program{}).Find(c.Args)
	if err != nil || cmd.Name() != "shard" {
		t.Fatalf("%q is no command: %v", c.Args, err)
	}
	if err := cmd.ParseFlags(rest); err != nil {
		t.Error(err)
	}
	if cmd.Flags().Changed("shard") {
		t.Error("the number of the shard is fixed")
	}
	// Wrong settings are to end with the status that the policy knows.
	if status := command.Run(command.Program{}, []string{"shard", "--shards=0", "--manifest=x", "--out=" + t.TempDir()}, strings.NewReader(""), &strings.Builder{}, &strings.Builder{}); status != 2 {
		t.Errorf("wrong use ends with %d", status)
	}
}
