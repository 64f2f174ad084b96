#pragma once

#include "bench/plate_server.h"

#include <memory>

namespace stripwright {

/// Modbus TCP on 127.0.0.1, several clients at once.
class TcpServer final : public PlateServer {
public:
    /// port 0: any free one. Throws std::system_error if it cannot listen.
    TcpServer(RegisterDevice& device, int port);
    ~TcpServer() override;

    int port() const { return port_; }
    int clientCount() const { return static_cast<int>(clients_.size()); }

    bool serve(int timeoutMs, int alsoWake = -1) override;
    bool hasClients() const override { return !clients_.empty(); }
    std::string place() const override { return std::to_string(port_); }
    void putInto(PlateLink& link) const override;

private:
    struct Client;

    void accept();
    bool receive(Client& client);
    bool answerAll(Client& client);
    bool answer(Client& client, size_t length);
    bool sendLate(Client& client, double nowS);

    RegisterDevice& device_;
    int listening_ = -1, port_ = 0;
    std::vector<std::unique_ptr<Client>> clients_;
};

} // namespace stripwright
