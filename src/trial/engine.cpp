#include "trial/engine.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <csetjmp>
#include <cstring>
#include <mutex>

namespace trial {
namespace {

// The engine calls its error handler from deep inside C and must not be returned to: the call that was under way is
// left.
thread_local std::jmp_buf* way_out = nullptr;
thread_local std::array<char, 512> error_text{};

void on_error(const char* text) {
  std::strncpy(error_text.data(), text, error_text.size() - 1);
  if (way_out != nullptr) std::longjmp(*way_out, 1);
}
void on_warning(const char*) {}  // counted by the engine in its data

std::mutex& reading() {
  static std::mutex mutex;
  return mutex;
}

/// A call into the engine; no object of ours with a destructor may be made inside it.
template <class Call>
bool guarded(const Call& call) {
  std::jmp_buf here;
  if (setjmp(here) != 0) {
    way_out = nullptr;
    return false;
  }
  way_out = &here;
  call();
  way_out = nullptr;
  return true;
}

}  // namespace

Engine::Engine(const std::string& description) {
  const std::lock_guard lock(reading());
  mju_user_error = on_error;
  mju_user_warning = on_warning;
  auto files = std::make_unique<mjVFS>();
  mj_defaultVFS(files.get());
  constexpr const char* kName = "trial.xml";
  const int size = static_cast<int>(description.size());
  if (mj_makeEmptyFileVFS(files.get(), kName, size) != 0) {
    fault_ = "the model description is too large";
    return;
  }
  std::memcpy(files->filedata[mj_findFileVFS(files.get(), kName)], description.data(), description.size());
  std::array<char, 1000> error{};
  const bool read =
      guarded([&] { model_ = mj_loadXML(kName, files.get(), error.data(), static_cast<int>(error.size())); });
  mj_deleteVFS(files.get());
  if (!read || model_ == nullptr) {
    fault_ = fmt::format("the physics engine does not take the model: {}", read ? error.data() : error_text.data());
    return;
  }
  if (!guarded([&] { data_ = mj_makeData(model_); }) || data_ == nullptr) fault_ = "no memory for the physics engine";
}

Engine::~Engine() {
  if (data_ != nullptr) mj_deleteData(data_);
  if (model_ != nullptr) mj_deleteModel(model_);
}

int Engine::id(int type, const std::string& name) const {
  return mj_name2id(model_, type, name.c_str());
}

double Engine::violation() {
  if (!guarded([&] { mj_forward(model_, data_); })) {
    fault_ = error_text.data();
    return HUGE_VAL;
  }
  double worst = 0;
  for (int i = 0; i < data_->ncon; ++i) worst = std::max(worst, -data_->contact[i].dist);
  for (int i = 0; i < data_->nefc; ++i)
    if (data_->efc_type[i] == mjCNSTR_EQUALITY) worst = std::max(worst, std::fabs(data_->efc_pos[i]));
  return worst;
}

bool Engine::healthy() {
  for (const int kind : {mjWARN_BADQPOS, mjWARN_BADQVEL, mjWARN_BADQACC, mjWARN_CONTACTFULL, mjWARN_CNSTRFULL}) {
    if (data_->warning[kind].number == 0) continue;
    fault_ = kind == mjWARN_CONTACTFULL || kind == mjWARN_CNSTRFULL
                 ? "more contacts at once than the trial has room for"
                 : fmt::format("the motion became unstable after {:.2f} s", data_->time);
    return false;
  }
  return true;
}

bool Engine::begin_step() {
  if (guarded([&] { mj_step1(model_, data_); })) return healthy();
  fault_ = error_text.data();
  return false;
}

bool Engine::end_step() {
  ++steps_;
  if (guarded([&] { mj_step2(model_, data_); })) return healthy();
  fault_ = error_text.data();
  return false;
}

std::uint64_t Engine::state_hash() const {
  std::uint64_t hash = 0xcbf29ce484222325;
  const auto add = [&hash](const mjtNum* values, int count) {
    for (int i = 0; i < count; ++i) {
      std::uint64_t bits = 0;
      std::memcpy(&bits, values + i, sizeof bits);
      for (int byte = 0; byte < 8; ++byte) hash = (hash ^ (bits >> (8 * byte) & 0xff)) * 0x100000001b3;
    }
  };
  add(data_->qpos, model_->nq);
  add(data_->qvel, model_->nv);
  return hash;
}

}  // namespace trial
