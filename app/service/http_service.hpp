#pragma once
#include "base/context.hpp"
#include "base/diagnostic.hpp"
#include "service/executors.hpp"
#include "store/store.hpp"

#include <memory>
#include <stop_token>
#include <string>

namespace halflight::service {

/// The workbench over HTTP on loopback: the pages, and the API that schema/service.openapi.json describes.
/// A translator: requests in, calls, JSON out. Refuses hosts and origins other than its own.
class HttpService {
 public:
  /// All must outlive it.
  HttpService(store::ProjectStore& store, const Executors& executors, BlobStore& blobs);
  ~HttpService();
  HttpService(const HttpService&) = delete;
  HttpService& operator=(const HttpService&) = delete;

  /// Takes a port of 127.0.0.1, 0 for any that is free; gives its number.
  Result<int> bind(int port);
  /// Answers until `stop` is requested.
  void serve(const std::stop_token& stop);

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace halflight::service
