// Runs independent pieces of work on several threads; the caller stores each result under its own index, so the outcome
// does not depend on the thread count.
#pragma once

#include <cstddef>
#include <functional>

namespace base {

/// Calls work(i) for every i in [0, count), each once, on up to `jobs` threads (at least one). The first exception
/// (lowest index) is rethrown after all threads ended.
void parallel_for(std::size_t count, int jobs, const std::function<void(std::size_t)>& work);

}  // namespace base
