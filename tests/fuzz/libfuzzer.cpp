// libFuzzer's entry.
#include <cstddef>
#include <cstdint>

#include "fuzz/target.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz_one({reinterpret_cast<const char*>(data), size});
  return 0;
}
