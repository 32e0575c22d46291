package pool_test

import (
	"context"
	"errors"
	"fmt"
	"log"
	"time"

	"partwright/musicxml"
	"partwright/worker"
	"partwright/worker/pool"
	"partwright/worker/request"
)

// A score that cannot be read is an error that says where and what to do.
func ExamplePool_Do() {
	pool, err := pool.New(pool.Config{Size: 1, Deadline: 10 * time.Second}, &worker.Engine{}, nil, nil)
	if err != nil {
		log.Fatal(err)
	}
	plan, err := request.Defaults(&request.Check{}).Plan()
	if err != nil {
		log.Fatal(err)
	}
	_, err = pool.Do(context.Background(), worker.Input{Name: "hymn.xml"}, plan)
	var input *musicxml.InputError
	fmt.Println(errors.As(err, &input), err)
	// Output: true hymn.xml: The file is empty. Export the score again.
}
