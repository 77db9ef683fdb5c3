// Runs independent pieces of work on several threads; the caller stores each result under its own index, so the outcome
// does not depend on the thread count.
#pragma once

#include <cstddef>
#include <functional>

namespace base {

/// Calls work(i) for every i in [0, count), each once, on up to `jobs` threads (at least one). The first exception
/// (lowest index) is rethrown after all threads ended.
void parallel_for(std::size_t count, int jobs, const std::function<void(std::size_t)>& work);

/// How many workers parallel_for_workers() starts.
[[nodiscard]] std::size_t workers(std::size_t count, int jobs);

/// The same with a place of its own for each thread: work(i, worker), worker < workers(count, jobs). One worker's calls
/// come one after another with rising i, so that buffers and running bests may be kept from call to call. Which
/// indices a worker gets is chance: what is kept must be the same whatever they were.
void parallel_for_workers(std::size_t count, int jobs, const std::function<void(std::size_t, std::size_t)>& work);

}  // namespace base
