#include "serve/server.h"

#include <fmt/format.h>
#include <httplib.h>
#include <sys/socket.h>
#include <unistd.h>

#include <charconv>
#include <chrono>
#include <cmath>
#include <exception>
#include <functional>
#include <memory>
#include <optional>
#include <thread>

#include "serve/assets.h"
#include "serve/connections.h"
#include "serve/guard.h"
#include "serve/json.h"

namespace serve {
namespace {

using httplib::Request;
using httplib::Response;

constexpr std::chrono::seconds kBetweenSigns{1};  // of life on a stream; a client that is gone is noticed by them

/// With a stated length through a provider: the library would compress anything else for longer than it takes to send.
void send(Response& response, Reply reply) {
  response.status = reply.status;
  response.set_header("Cache-Control", reply.lasting ? "public, max-age=31536000, immutable" : "no-store");
  if (reply.body.empty()) return;
  auto body = std::make_shared<const std::string>(std::move(reply.body));
  response.set_content_provider(body->size(), reply.type,
                                [body](std::size_t offset, std::size_t length, httplib::DataSink& sink) {
                                  sink.write(body->data() + offset, length);
                                  return true;
                                });
}

void send_asset(Response& response, const Asset& asset) {
  response.status = 200;
  // Names below assets/ hold a hash of what is in them.
  response.set_header("Cache-Control",
                      asset.path.starts_with("assets/") ? "public, max-age=31536000, immutable" : "no-store");
  response.set_content_provider(asset.bytes.size(), std::string(media_type(asset.path)),
                                [&asset](std::size_t offset, std::size_t length, httplib::DataSink& sink) {
                                  sink.write(asset.bytes.data() + offset, length);
                                  return true;
                                });
}

/// A whole number of a query; nothing when it is none or out of range.
std::optional<int> number(const std::string& text, int low, int high) {
  if (text.empty() || text.size() > 9 || text.find_first_not_of("0123456789") != std::string::npos) return std::nullopt;
  const int value = std::stoi(text);
  if (value < low || value > high) return std::nullopt;
  return value;
}

template <class Body, class Answer>
Reply answered(const Request& request, Answer answer) {
  Body body;
  document::Diagnostics d;
  if (!read_request(request.body, body, d)) {
    const auto all = d.sorted();
    const bool no_json = !all.empty() && (all.front().code == "json.syntax" || all.front().code == "json.too_deep");
    return Reply::problems(no_json ? 400 : 422, "this request cannot be read", d);
  }
  return answer(body);
}

Reply chart_of(Desk& desk, const Request& q) {
  const design::Options usual;
  const auto asked = [&](const char* key, int standard, int low, int high) {
    return q.has_param(key) ? number(q.get_param_value(key), low, high) : std::optional(standard);
  };
  const auto radii = asked("radii", usual.chart_radii, 2, 400);
  const auto slews = asked("slews", usual.chart_slews, 1, 720);
  if (!radii || !slews) return Reply::problem(422, "no chart of this size", "radii: 2 to 400, slews: 1 to 720.");
  return desk.chart(*radii, *slews);
}

std::string language_of(const Request& q) {
  return q.has_param("language") ? q.get_param_value("language") : "en";
}

/// A length of a query in mm; nothing when it is none or longer than any model.
std::optional<double> length_mm(const std::string& text) {
  constexpr double kFarthest_mm = 1e5;
  const char* end = text.data() + text.size();
  double value = 0;
  const auto [stop, error] = std::from_chars(text.data(), end, value);
  if (text.empty() || error != std::errc() || stop != end || !(std::fabs(value) <= kFarthest_mm)) return std::nullopt;
  return value;
}

Reply stance_of(Desk& desk, const Request& q) {
  const auto x = length_mm(q.get_param_value("x")), y = length_mm(q.get_param_value("y")),
             z = length_mm(q.get_param_value("z"));
  if (!x || !y || !z) return Reply::problem(422, "no such place", "x, y and z in mm, in the machine's frame.");
  return desk.stance_with(q.get_param_value("body"), {*x, *y, *z});
}

}  // namespace

struct Server::Wires {
  explicit Wires(const Settings& s) : settings(s), desk(s) {}

  void set_up();
  void add_routes();
  void add_page();
  void stream(const Request& request, Response& response);
  void frames(const Request& request, Response& response);

  using Route = std::function<Reply(const Request&)>;
  httplib::Server::Handler wrapped(Route route) {
    return [route = std::move(route)](const Request& q, Response& r) { send(r, route(q)); };
  }

  Settings settings;
  Desk desk;
  Listener http;
  std::unique_ptr<Guard> guard;
  int port = 0;
  std::thread thread;
};

void Server::Wires::set_up() {
  http.set_tcp_nodelay(true);  // else every answer on a kept connection waits 40 ms
  http.set_keep_alive_max_count(1000);
  http.set_keep_alive_timeout(60);
  http.set_read_timeout(5);
  http.set_write_timeout(5);
  http.set_payload_max_length(kMostBodyBytes);
  // The library's own choice lets a second program share the port unnoticed.
  http.set_socket_options([](socket_t socket) {
    const int yes = 1;
    ::setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
  });
  http.set_pre_routing_handler([this](const Request& q, Response& r) {
    Guard::add_headers(r);
    auto refusal = guard->refusal(q);
    if (!refusal) {
      // Without a stated length the library would read on until the connection ends. The request is its own and not
      // constant; only this handler sees it so.
      if (q.method == "DELETE" && !q.has_header("Content-Length"))
        const_cast<Request&>(q).headers.emplace("Content-Length", "0");
      return httplib::Server::HandlerResponse::Unhandled;
    }
    r.set_header("Connection", "close");  // its body, if any, is not read
    send(r, std::move(*refusal));
    return httplib::Server::HandlerResponse::Handled;
  });
  http.set_exception_handler([](const Request&, Response& r, std::exception_ptr thrown) {
    std::string what = "unknown";
    try {
      std::rethrow_exception(thrown);
    } catch (const std::exception& e) {
      what = e.what();
    } catch (...) {
    }
    send(r, Reply::problem(500, "this is our fault, not yours", what));
  });
  http.set_error_handler([](const Request& q, Response& r) {
    Guard::add_headers(r);
    if (r.content_length_ > 0 || !r.body.empty()) return;  // it says already what is wrong
    const int status = r.status;
    send(r, Reply::problem(status, status == 404 ? "no such place" : "this request cannot be answered",
                           fmt::format("{} {}", q.method, q.path.substr(0, 80))));
  });
}

void Server::Wires::add_routes() {
  http.Get("/api/session", wrapped([this](const Request&) { return desk.session(); }));
  http.Post("/api/open", wrapped([this](const Request& q) {
              return answered<OpenRequest>(q, [this](const OpenRequest& b) { return desk.open(b); });
            }));
  http.Get("/api/schema", wrapped([this](const Request&) { return desk.schema(); }));
  http.Get("/api/project", wrapped([this](const Request&) { return desk.project(); }));
  http.Post("/api/edits", wrapped([this](const Request& q) {
              return answered<EditsRequest>(q, [this](const EditsRequest& b) { return desk.edit(b); });
            }));
  http.Put("/api/text", wrapped([this](const Request& q) {
             return answered<TextRequest>(q, [this](const TextRequest& b) { return desk.replace(b); });
           }));
  http.Post("/api/undo", wrapped([this](const Request&) { return desk.undo(); }));
  http.Post("/api/redo", wrapped([this](const Request&) { return desk.redo(); }));
  http.Post("/api/reload", wrapped([this](const Request& q) {
              return answered<ReloadRequest>(q, [this](const ReloadRequest& b) { return desk.reload(b.keep); });
            }));

  http.Get("/api/jobs", wrapped([this](const Request&) { return desk.jobs(); }));
  http.Post(R"(/api/jobs/(\d{1,9})/stop)",
            wrapped([this](const Request& q) { return desk.stop_job(std::stoi(q.matches[1].str())); }));
  http.Get("/api/events", [this](const Request& q, Response& r) { stream(q, r); });
  http.Get("/api/result", wrapped([this](const Request& q) { return desk.result(q.has_param("sound")); }));
  http.Get("/api/explain", wrapped([this](const Request& q) {
             return desk.explain(q.get_param_value("function"), q.get_param_value("candidate"));
           }));
  http.Get("/api/drawing/candidate.svg", wrapped([this](const Request& q) {
             return desk.candidate_drawing(q.get_param_value("function"), q.get_param_value("candidate"));
           }));
  http.Get("/api/chart", wrapped([this](const Request& q) { return chart_of(desk, q); }));
  http.Get("/api/drawing/chart.svg", wrapped([this](const Request&) { return desk.chart_drawing(); }));
  http.Get("/api/drawing/duty.svg", wrapped([this](const Request&) { return desk.duty_drawing(); }));
  http.Get("/api/drawing/ground.svg", wrapped([this](const Request&) { return desk.ground_drawing(); }));
  http.Get("/api/drawing/site.svg", wrapped([this](const Request&) { return desk.site_drawing(); }));
  http.Get("/api/stance", wrapped([this](const Request& q) { return stance_of(desk, q); }));
  http.Get("/api/space", wrapped([this](const Request&) { return desk.space(); }));
  http.Get("/api/handset", wrapped([this](const Request&) { return desk.handset(); }));
  http.Get("/api/scale", wrapped([this](const Request&) { return desk.scale(); }));
  http.Post("/api/scale", wrapped([this](const Request& q) {
              return answered<ScaleRequest>(q, [this](const ScaleRequest& b) { return desk.start_scale(b); });
            }));
  http.Get("/api/trial", wrapped([this](const Request&) { return desk.trial(); }));
  http.Post("/api/trial/course", wrapped([this](const Request& q) {
              return answered<TrialRequest>(q, [this](const TrialRequest& b) { return desk.trial_course(b); });
            }));
  http.Post("/api/trial/figures", wrapped([this](const Request&) { return desk.trial_figures(); }));
  http.Post("/api/trial/lift", wrapped([this](const Request& q) {
              return answered<LiftRequest>(q, [this](const LiftRequest& b) { return desk.trial_lift(b); });
            }));
  http.Post("/api/trial/live", wrapped([this](const Request& q) {
              return answered<TrialRequest>(q, [this](const TrialRequest& b) { return desk.start_live(b); });
            }));
  http.Post(R"(/api/trial/live/(\d{1,9})/stick)", wrapped([this](const Request& q) {
              const int id = std::stoi(q.matches[1].str());
              return answered<StickRequest>(q, [this, id](const StickRequest& b) { return desk.stick(id, b); });
            }));
  http.Get(R"(/api/trial/live/(\d{1,9})/frames)", [this](const Request& q, Response& r) { frames(q, r); });
  http.Delete(R"(/api/trial/live/(\d{1,9}))",
              wrapped([this](const Request& q) { return desk.end_live(std::stoi(q.matches[1].str())); }));
  http.Get("/api/dossier/languages", wrapped([this](const Request&) { return desk.dossier_languages(); }));
  http.Get("/api/dossier", wrapped([this](const Request& q) { return desk.dossier(language_of(q)); }));
  http.Get(R"(/api/dossier/files/((?:figures/)?[\w-]{1,80}\.[a-z]{3,4}))",
           wrapped([this](const Request& q) { return desk.dossier_file(language_of(q), q.matches[1].str()); }));
  http.Get(R"(/api/files/([A-Za-z]+\.[a-z]+))",
           wrapped([this](const Request& q) { return desk.result_file(q.matches[1].str()); }));

  http.Get("/api/stock", wrapped([this](const Request&) { return desk.stock(); }));
  http.Put("/api/stock", wrapped([this](const Request& q) {
             return answered<StockRequest>(q, [this](const StockRequest& b) { return desk.replace_stock(b); });
           }));
  http.Post("/api/stock/preview", wrapped([this](const Request& q) {
              return desk.preview_stock(q.body, q.get_param_value("columns"), q.get_param_value("system"));
            }));

  http.Get("/api/variants", wrapped([this](const Request&) { return desk.variants(); }));
  http.Post("/api/variants", wrapped([this](const Request& q) {
              return answered<VariantRequest>(q, [this](const VariantRequest& b) { return desk.keep_variant(b); });
            }));
  http.Get(R"(/api/variants/([\w-]{1,64}))", wrapped([this](const Request& q) { return desk.variant(q.matches[1]); }));
  http.Delete(R"(/api/variants/([\w-]{1,64}))",
              wrapped([this](const Request& q) { return desk.drop_variant(q.matches[1]); }));
  http.Get(R"(/api/pictures/([\w.-]{1,80}))", wrapped([this](const Request& q) { return desk.picture(q.matches[1]); }));
  http.Put(R"(/api/pictures/([\w.-]{1,80}))",
           wrapped([this](const Request& q) { return desk.keep_picture(q.matches[1], q.body); }));
  http.Get("/api/trace", wrapped([this](const Request&) { return desk.trace(); }));
  http.Put("/api/trace", wrapped([this](const Request& q) { return desk.keep_trace(q.body); }));
}

void Server::Wires::add_page() {
  http.Get("/open", [this](const Request& q, Response& r) {
    if (!same_secret(q.get_param_value("t"), guard->token())) {
      send(r, Reply::problem(401, "no token", "open the address that the program printed when it started."));
      return;
    }
    r.set_header("Set-Cookie",
                 fmt::format("{}={}; HttpOnly; SameSite=Strict; Path=/", guard->cookie_name(), guard->token()));
    r.set_header("Cache-Control", "no-store");
    r.set_redirect("/", 303);
  });
  http.Get(R"((?!/api/).*)", [](const Request& q, Response& r) {
    const std::string_view path = std::string_view(q.path).substr(1);
    if (const Asset* asset = find_asset(path)) {
      send_asset(r, *asset);
      return;
    }
    // Addresses without an ending are the page's own.
    const bool page = path.find('.') == std::string_view::npos;
    const Asset* index = page ? find_asset("index.html") : nullptr;
    if (index != nullptr) {
      send_asset(r, *index);
    } else if (path.empty()) {
      send(r, Reply::text(std::string(page_without_assets()), "text/html; charset=utf-8"));
    } else {
      send(r, Reply::problem(404, "no such place", std::string(q.path.substr(0, 80))));
    }
  });
}

void Server::Wires::stream(const Request& request, Response& response) {
  EventLog& events = desk.events();
  if (!events.enter()) {
    send(response, Reply::problem(503, "too many streams",
                                  fmt::format("at most {} at a time; share one among tabs.", EventLog::kMostStreams)));
    return;
  }
  const std::string told = request.get_header_value("Last-Event-ID");
  const bool known = !told.empty() && told.size() < 19 && told.find_first_not_of("0123456789") == std::string::npos;
  auto seen = std::make_shared<std::uint64_t>(known ? std::stoull(told) : events.last());
  auto begun = std::make_shared<bool>(false);
  response.set_header("Cache-Control", "no-store");
  response.set_chunked_content_provider(
      "text/event-stream",
      [&events, seen, begun](std::size_t, httplib::DataSink& sink) {
        std::string text;
        if (!*begun) {
          *begun = true;
          text = ": here\n\n";
        } else {
          for (const Event& e : events.after(*seen, kBetweenSigns)) {
            text += stream_text(e);
            *seen = e.id;
          }
          if (events.closed()) {
            sink.done();
            return true;
          }
          if (text.empty()) text = ": still here\n\n";
        }
        return sink.write(text.data(), text.size());
      },
      [&events](bool) { events.leave(); });
}

/// The instants of a live drive; a page that is slow misses some, but is never behind.
void Server::Wires::frames(const Request& request, Response& response) {
  LiveTrial& live = desk.live();
  const int id = std::stoi(request.matches[1].str());
  if (!live.enter(id)) {
    send(response, Reply::problem(410, "nobody drives any more", "that drive has ended; start another one."));
    return;
  }
  auto seen = std::make_shared<std::uint64_t>(0);
  response.set_header("Cache-Control", "no-store");
  response.set_chunked_content_provider(
      "text/event-stream",
      [&live, seen, id](std::size_t, httplib::DataSink& sink) {
        bool over = false;
        const std::string frame = live.frame_after(id, *seen, kBetweenSigns, over);
        const std::string text = frame.empty() ? (over ? ": over\n\n" : ": still here\n\n")
                                               : fmt::format("event: frame\ndata: {}\n\n", frame);
        if (!sink.write(text.data(), text.size())) return false;
        if (over) sink.done();
        return true;
      },
      [&live, id](bool) { live.leave(id); });
}

Server::Server(const Settings& settings) : wires_(std::make_unique<Wires>(settings)) {}

Server::~Server() {
  stop();
}

bool Server::start(document::Diagnostics& d) {
  Wires& w = *wires_;
  w.set_up();
  const int wanted = w.settings.port;
  if (wanted > 0) {
    w.port = w.http.bind_to_port("127.0.0.1", wanted) ? wanted : 0;
  } else {
    w.port = std::max(0, w.http.bind_to_any_port("127.0.0.1"));
  }
  if (w.port == 0) {
    d.error("serve.port", {"--port", 0, 0}, "",
            wanted > 0 ? fmt::format("port {} cannot be taken; another program may have it.", wanted)
                       : "no port on 127.0.0.1 can be taken.",
            "leave --port out to take any free one");
    return false;
  }
  w.guard = std::make_unique<Guard>(w.port, fresh_token());
  w.desk.set_note(fmt::format("Kitwright, process {}, http://127.0.0.1:{}/", ::getpid(), w.port));
  if (!w.settings.project.empty() && !w.desk.open(w.settings.project, d)) return false;
  w.add_routes();
  w.add_page();
  w.thread = std::thread([&w] { w.http.listen_after_bind(); });
  while (!w.http.is_running()) std::this_thread::sleep_for(std::chrono::milliseconds(1));
  return true;
}

void Server::stop() {
  Wires& w = *wires_;
  w.desk.close();
  w.http.stop();
  if (w.thread.joinable()) w.thread.join();
}

int Server::port() const {
  return wires_->port;
}

const std::string& Server::token() const {
  return wires_->guard->token();
}

std::string Server::address() const {
  return fmt::format("http://127.0.0.1:{}/open?t={}", port(), token());
}

Desk& Server::desk() {
  return wires_->desk;
}

}  // namespace serve
