/* Renders the contract of this service. Nothing is asked of any other host. */
"use strict";

SwaggerUIBundle({
  url: "v1/openapi.json",
  dom_id: "#contract",
  defaultModelsExpandDepth: -1,
  displayRequestDuration: true,
  docExpansion: "list",
  validatorUrl: null,
});
