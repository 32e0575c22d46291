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
)

// A score that cannot be read is an error that says where and what to do.
func ExamplePool_Submit() {
	pool, err := pool.New(pool.Config{Size: 1, Deadline: 10 * time.Second}, &worker.Engine{}, nil, nil)
	if err != nil {
		log.Fatal(err)
	}
	_, err = pool.Submit(context.Background(), worker.Input{Name: "hymn.xml"}, worker.Options{})
	var input *musicxml.InputError
	fmt.Println(errors.As(err, &input), err)
	// Output: true hymn.xml: The file is empty. Export the score again.
}
