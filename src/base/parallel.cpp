#include "base/parallel.h"

#include <algorithm>
#include <atomic>
#include <exception>
#include <thread>
#include <vector>

namespace base {

std::size_t workers(std::size_t count, int jobs) {
  return std::min<std::size_t>(count, static_cast<std::size_t>(std::max(1, jobs)));
}

void parallel_for_workers(std::size_t count, int jobs, const std::function<void(std::size_t, std::size_t)>& work) {
  const std::size_t threads = workers(count, jobs);
  std::vector<std::exception_ptr> faults(count);
  std::atomic<std::size_t> next{0};
  const auto run = [&](std::size_t worker) {
    for (std::size_t i = next++; i < count; i = next++) {
      try {
        work(i, worker);
      } catch (...) {
        faults[i] = std::current_exception();
      }
    }
  };
  std::vector<std::thread> pool;
  for (std::size_t t = 1; t < threads; ++t) pool.emplace_back(run, t);
  run(0);
  for (std::thread& t : pool) t.join();
  for (const std::exception_ptr& fault : faults) {
    if (fault) std::rethrow_exception(fault);
  }
}

void parallel_for(std::size_t count, int jobs, const std::function<void(std::size_t)>& work) {
  parallel_for_workers(count, jobs, [&](std::size_t i, std::size_t) { work(i); });
}

}  // namespace base
