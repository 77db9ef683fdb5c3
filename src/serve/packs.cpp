#include "serve/packs.h"

#include <algorithm>
#include <chrono>
#include <optional>
#include <utility>

namespace serve {
namespace {

constexpr std::chrono::milliseconds kBetweenLooks{50};

std::shared_ptr<const Pack> made(const Computed& design, const dossier::Texts& texts, const std::string& version,
                                 const dossier::Unwanted& unwanted) {
  dossier::Options options;
  options.version = version;
  options.project_text = *design.text;
  options.unwanted = unwanted;
  const dossier::Document document = dossier::document_of(*design.result, texts, options);
  auto out = std::make_shared<Pack>();
  out->revision = design.revision;
  out->language = texts.language();
  out->title = document.title;
  out->hash = dossier::project_hash(*design.result->brief, *design.text);
  out->told_revision = dossier::revision_of(*design.result, options);
  const dossier::Printed a4 = dossier::print(document, dossier::Paper::a4, unwanted);
  const dossier::Printed letter = dossier::print(document, dossier::Paper::letter, unwanted);
  out->a4_pages = a4.pages;
  out->letter_pages = letter.pages;
  for (const char* name : dossier::kFiles) {
    const std::string file = name;
    out->files.push_back({file, file == "dossier_a4.pdf"       ? a4.bytes
                                : file == "dossier_letter.pdf" ? letter.bytes
                                                               : dossier::file_of(document, *design.result, file)});
    dossier::heed(unwanted);
  }
  for (const dossier::Block& block : document.blocks) {
    if (const auto* f = std::get_if<dossier::Figure>(&block)) {
      out->files.push_back({"figures/" + f->name + ".svg", f->drawing.str()});
      ++out->figures;
    }
    if (std::holds_alternative<dossier::Live>(block)) ++out->moving;
    const auto* h = std::get_if<dossier::Heading>(&block);
    if (h == nullptr || h->level > 2) continue;
    const auto page = [&](const dossier::Printed& p) {
      const auto at = p.page_of.find(h->anchor);
      return at == p.page_of.end() ? 0 : at->second;
    };
    out->chapters.push_back({h->text, h->anchor, h->level, page(a4), page(letter)});
  }
  return out;
}

}  // namespace

const dossier::File* Pack::file(const std::string& name) const {
  const auto at = std::find_if(files.begin(), files.end(), [&](const dossier::File& f) { return f.name == name; });
  return at == files.end() ? nullptr : &*at;
}

std::shared_ptr<const Pack> Packs::pack(const Computed& design, const dossier::Texts& texts, const std::string& version,
                                        const Gone& gone) {
  const Key key{design.result, texts.language()};
  std::unique_lock lock(mutex_);
  wanted_ = key;
  changed_.notify_all();
  for (;;) {
    if (wanted_ != key) return nullptr;
    if (kept_ && kept_key_ == key) return kept_;
    if (!making_) break;
    if (gone()) return nullptr;
    changed_.wait_for(lock, kBetweenLooks);
  }
  making_ = true;
  lock.unlock();
  const auto unwanted = [&] {
    if (gone()) return true;
    const std::lock_guard look(mutex_);
    return wanted_ != key;
  };
  std::shared_ptr<const Pack> out;
  std::exception_ptr fault;
  try {
    out = made(design, texts, version, unwanted);
  } catch (const dossier::Abandoned&) {
  } catch (...) {
    fault = std::current_exception();
  }
  lock.lock();
  making_ = false;
  if (out && wanted_ == key) {
    kept_ = out;
    kept_key_ = key;
  }
  changed_.notify_all();
  if (fault) std::rethrow_exception(fault);
  return out;
}

void Packs::forget() {
  const std::lock_guard lock(mutex_);
  wanted_ = kept_key_ = {};
  kept_.reset();
}

}  // namespace serve
