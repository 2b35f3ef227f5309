-- What neovim makes of a machine file with one mistake: its mark, what is told of it, its fix.
local function finish(ok, what)
  io.stdout:write((ok and "all is as it should be" or ("failed: " .. what)) .. "\n")
  vim.cmd(ok and "qa!" or "cq!")
end
local buffer = vim.api.nvim_get_current_buf()
local function marks()
  return vim.tbl_filter(function(d) return d.code == "probe-stroke-short" or d.message:match("probing") end,
                        vim.diagnostic.get(buffer))
end
local function ask(method, params)
  local all = vim.lsp.buf_request_sync(buffer, method, params, 20000) or {}
  for _, one in pairs(all) do return one.result, one.error end
end
local function line_of(text)
  for n, line in ipairs(vim.api.nvim_buf_get_lines(buffer, 0, -1, false)) do
    if line:match(text) then return n, line end
  end
end

local function try()
  if not vim.wait(20000, function() return #marks() == 1 end, 10) then return false, "no mark, or several" end
  local row = line_of("probe_stroke:")
  local mark = marks()[1]
  if mark.lnum ~= row - 1 or mark.severity ~= vim.diagnostic.severity.ERROR then return false, "the mark is elsewhere" end
  vim.api.nvim_win_set_cursor(0, { row, 17 })
  local hover = ask("textDocument/hover", vim.lsp.util.make_position_params())
  if not hover or not vim.inspect(hover.contents):match("Put right") then return false, "hover" end
  local symbols = ask("textDocument/documentSymbol", { textDocument = vim.lsp.util.make_text_document_params() })
  if not symbols or #symbols == 0 then return false, "symbols" end
  local range = vim.lsp.util.make_range_params()
  range.context = { diagnostics = {} }
  local actions = ask("textDocument/codeAction", range) or {}
  local fix = vim.tbl_filter(function(a) return a.kind == "quickfix" and a.edit end, actions)[1]
  if not fix then return false, "no fix" end
  vim.lsp.util.apply_workspace_edit(fix.edit, vim.lsp.get_client_by_id(1) and vim.lsp.get_client_by_id(1).offset_encoding or "utf-16")
  if not vim.wait(20000, function() return #marks() == 0 end, 10) then return false, "the mark stays" end
  vim.api.nvim_buf_set_lines(buffer, 0, 0, false, { "# \240\159\152\128 \195\169" })
  vim.cmd("silent %s/probe_stroke: [0-9.]*/probe_stroke: 18/")
  if not vim.wait(20000, function() return #marks() == 1 end, 10) then return false, "the mark does not come back" end
  if marks()[1].lnum ~= row then return false, "the mark did not move with its line" end
  return true
end
local good, ok, what = pcall(try)
finish(good and ok, good and what or ok)
