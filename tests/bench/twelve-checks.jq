# Twelve checks by hand, for comparison: what a careful script of the same kind costs.
{ id: .card.id, found: [
  (if .services.telnet.enabled then "telnet" else empty end),
  (if .services.http.enabled and (.services.http.redirects_to_https | not) then "http" else empty end),
  (if .services.ftp.enabled then "ftp" else empty end),
  (if .services.tftp.enabled then "tftp" else empty end),
  (if (.snmp.versions // []) | any(. == "v1" or . == "v2c") then "snmp version" else empty end),
  ((.snmp.communities // [])[] | select(.community.clear == "public" or .community.clear == "private") | "community"),
  ((.snmp.users // [])[] | select(.level != "authPriv") | "level"),
  ((.accounts // [])[] | select(.enabled and .is_factory) | "factory account"),
  (if (.tls.versions // []) | any(. == "ssl_3" or . == "tls_1_0" or . == "tls_1_1") then "tls" else empty end),
  (if ((.time.servers // []) | length) < 4 then "time servers" else empty end),
  (if ((.log.collectors // []) | map(select(.enabled)) | length) == 0 then "no collector" else empty end),
  (if .access_policy.session_timeout_s == 0 or .access_policy.session_timeout_s > 900 then "timeout" else empty end)
] }
