Attribute VB_Name = "JointGeo"
Option Explicit

' Functions for cells that ask a jointgeo service.
'
' JG_VALUE(service, joint_type, path, name, value, ...)          values of one joint
' JG_TABLE(service, joint_type, want, rows, name, value, ...)    a table with a heading
' JG_LIST(service, paths, joints, name, value, ...)              values of many joints, a row each
' JG_PIECE(service, piece_type, want, rows, name, value, ...)    a table of a whole piece
'
' service     address of the service, e.g. http://127.0.0.1:8765
' joint_type  name of a joint type, as the service lists them
' path        part, number of the clamping counted from 1, quantity: leg.1.swivel_deg; what holds
'             for the joint alone: status. JG_TABLE with "paths" lists them all. A row or a column
'             of paths gives a row or a column of values, in one request
' want        "settings" for the cuts, "feasibility" for the checks, "paths" for what can be asked
' rows        rows to fill, the heading included: fewer are filled up with empty text, more
'             are announced in the last row; 0 = as many as there are
' paths       one path, or a range of them: a column of the answer each
' joints      a range with names of parameters in its first row and a joint in each further one;
'             a column without a name is yours and is not read. joint_type, fixture and hand may
'             be columns too. An empty row has an empty answer
' piece_type  name of a piece type; of JG_PIECE, want is "cut-list", "settings" or "feasibility"
' name, value flat list of the joint's parameters, of fixture and hand, for JG_TABLE of part and
'             setup, and "heading", "words" for headings in words; in place of any two of them a
'             range of two columns, names beside values. A pair whose name or value is empty is
'             left out, so that the parameter's default holds. For JG_LIST: what is the same in
'             all rows
'
' A number comes as a number, everything else as text. A text that begins with # is the
' reason why there is no answer; in a list each row has its own. Millimetres and degrees; any
' x_mm may be given as x_in. Numbers are sent and read with a decimal point whatever the
' computer's language is. JG_LIST sends one request however many rows there are.
'
' To install: in the editor (Alt+F11) choose File, Import File, take this file, and save the
' workbook as one with macros. Windows only, since the functions of the first section
' are. The service must run on this computer: no token is sent.

' ---- This program's own: the only place that speaks HTTP, and the coding of a text ----

' Kept between two cells, so that its connection is.
Private JG_Http As Object

Private Function JG_Fetch(ByVal url As String) As String
    JG_Fetch = JG_Ask("GET", url, "")
End Function

Private Function JG_Post(ByVal url As String, ByVal body As String) As String
    JG_Post = JG_Ask("POST", url, body)
End Function

Private Function JG_Ask(ByVal verb As String, ByVal url As String, ByVal body As String) As String
    On Error GoTo no_answer
    If JG_Http Is Nothing Then Set JG_Http = CreateObject("MSXML2.ServerXMLHTTP.6.0")
    ' Milliseconds to find, to connect, to send and to wait: a cell must not hang the sheet.
    JG_Http.setTimeouts 2000, 2000, 5000, 30000
    JG_Http.Open verb, url, False
    If verb = "POST" Then JG_Http.setRequestHeader "Content-Type", "application/json"
    JG_Http.send body
    If JG_Http.Status = 200 Then
        JG_Ask = JG_Http.responseText
    Else
        JG_Ask = "# the service answered with status " & JG_Http.Status
    End If
    Exit Function
no_answer:
    Set JG_Http = Nothing
    JG_Ask = JG_NoAnswer(url)
End Function

Private Function JG_Coded(ByVal given As String) As String
    JG_Coded = Application.WorksheetFunction.EncodeURL(given)
End Function

' ---- The same in every program ----

Public Function JG_VALUE(service As Variant, joint_type As Variant, path As Variant, ParamArray pairs() As Variant) As Variant
    Dim given As Variant
    Dim wanted As Variant
    Dim picks As String
    Dim c As Long
    Dim r As Long
    given = pairs
    wanted = JG_Plain(path)
    If IsArray(wanted) Then
        For r = LBound(wanted, 1) To UBound(wanted, 1)
            For c = LBound(wanted, 2) To UBound(wanted, 2)
                picks = picks & "&pick=" & JG_Encode(JG_Text(wanted(r, c)))
            Next c
        Next r
        JG_VALUE = JG_Spread(JG_Question(service, joint_type, "values", picks, given), UBound(wanted, 1) - LBound(wanted, 1) + 1, UBound(wanted, 2) - LBound(wanted, 2) + 1)
    Else
        JG_VALUE = JG_Cell(JG_Question(service, joint_type, "values", "&pick=" & JG_Encode(JG_Text(wanted)), given))
    End If
End Function

Public Function JG_TABLE(service As Variant, joint_type As Variant, want As Variant, rows As Variant, ParamArray pairs() As Variant) As Variant
    Dim given As Variant
    given = pairs
    JG_TABLE = JG_Rectangle(JG_Question(service, joint_type, JG_Text(want), "&shape=tsv", given), rows)
End Function

Public Function JG_PIECE(service As Variant, piece_type As Variant, want As Variant, rows As Variant, ParamArray pairs() As Variant) As Variant
    Dim given As Variant
    given = pairs
    JG_PIECE = JG_Rectangle(JG_Asked(service, "piece-types", piece_type, JG_Text(want), "&shape=tsv", given), rows)
End Function

Private Function JG_Rectangle(reply As String, rows As Variant) As Variant
    If Left(reply, 1) = "#" Then
        JG_Rectangle = reply
    ElseIf InStr(reply, Chr(9)) = 0 Then
        JG_Rectangle = "# the answer is not a table of a jointgeo service"
    Else
        JG_Rectangle = JG_Grid(reply, JG_Plain(rows))
    End If
End Function

Public Function JG_LIST(service As Variant, paths As Variant, joints As Variant, ParamArray pairs() As Variant) As Variant
    Dim given As Variant
    Dim table As Variant
    Dim wanted As String
    Dim common As String
    Dim reply As String
    Dim address As String
    Dim lines As Variant
    Dim last As Long
    Dim wide As Long
    given = pairs
    address = JG_Address(service)
    wanted = JG_Paths(JG_Plain(paths), wide)
    common = JG_Common(given)
    table = JG_Plain(joints)
    If Left(address, 1) = "#" Then
        JG_LIST = address
    ElseIf Left(common, 1) = "#" Then
        JG_LIST = common
    ElseIf wide = 0 Then
        JG_LIST = "# a path must be given, or a range of paths without empty cells"
    ElseIf Not IsArray(table) Then
        JG_LIST = "# the joints must be a range with names in its first row"
    Else
        last = JG_Last(table)
        reply = JG_Post(address & "/v1/list?cells=1", "{""wanted"":" & wanted & ",""common"":" & common & "," & JG_Rows(table, last) & "}")
        lines = Split(reply, Chr(10))
        If last > LBound(table, 1) And UBound(lines) <> last - LBound(table, 1) - 1 Then
            ' What is wrong with the list as a whole comes as one line.
            If Left(reply, 1) <> "#" Then reply = "# the answer is not one of a jointgeo service"
            JG_LIST = reply
        Else
            JG_LIST = JG_Block(lines, UBound(table, 1) - LBound(table, 1), wide)
        End If
    End If
End Function

Private Function JG_Question(service As Variant, joint_type As Variant, below As String, arguments As String, pairs As Variant) As String
    JG_Question = JG_Asked(service, "joint-types", joint_type, below, arguments, pairs)
End Function

Private Function JG_Asked(service As Variant, kinds As String, kind As Variant, below As String, arguments As String, pairs As Variant) As String
    Dim address As String
    Dim query As String
    address = JG_Address(service)
    query = JG_Query(pairs)
    If Left(address, 1) = "#" Then
        JG_Asked = address
    ElseIf Left(query, 1) = "#" Then
        JG_Asked = query
    Else
        JG_Asked = JG_Fetch(address & "/v1/" & kinds & "/" & JG_Encode(JG_Text(kind)) & "/" & JG_Encode(below) & "?cells=1" & arguments & query)
    End If
End Function

Private Function JG_Address(service As Variant) As String
    Dim address As String
    address = JG_Text(service)
    If Right(address, 1) = "/" Then address = Left(address, Len(address) - 1)
    ' Anything else, a file's address for one, is none of a cell's business.
    If Not ((address Like "http://*") Or (address Like "https://*")) Then address = "# the address of the service must begin with http:// or https://"
    JG_Address = address
End Function

Private Function JG_NoAnswer(url As String) As String
    Dim root As String
    root = Left(url, InStr(url, "/v1/") - 1)
    JG_NoAnswer = "# no answer from " & root & ": is the service running there? Start it with: jointgeo serve"
End Function

' The pairs one after another, name and value in turn; or a text that begins with #.
Private Function JG_Flat(pairs As Variant, flat As Variant, count As Long) As String
    Dim item As Variant
    Dim i As Long
    Dim r As Long
    Dim room As Long
    room = 64
    ReDim flat(0 To room)
    count = 0
    For i = LBound(pairs) To UBound(pairs)
        item = JG_Plain(pairs(i))
        If IsArray(item) Then
            If count Mod 2 = 1 Or UBound(item, 2) - LBound(item, 2) <> 1 Then
                JG_Flat = "# names and values must come in pairs; a range needs two columns"
                Exit Function
            End If
            Do While count + 2 * (UBound(item, 1) - LBound(item, 1) + 1) > room
                room = 2 * room
                ReDim Preserve flat(0 To room)
            Loop
            For r = LBound(item, 1) To UBound(item, 1)
                flat(count) = item(r, LBound(item, 2))
                flat(count + 1) = item(r, UBound(item, 2))
                count = count + 2
            Next r
        Else
            If count = room Then
                room = 2 * room
                ReDim Preserve flat(0 To room)
            End If
            flat(count) = item
            count = count + 1
        End If
    Next i
    If count Mod 2 = 1 Then JG_Flat = "# names and values must come in pairs; the last name has no value"
    For i = 0 To count - 1
        If IsError(flat(i)) Then JG_Flat = "# one of the given cells holds an error"
    Next i
End Function

' The pairs as the tail of a query, or a text that begins with #.
Private Function JG_Query(pairs As Variant) As String
    Dim flat As Variant
    Dim pieces() As String
    Dim label As String
    Dim content As String
    Dim count As Long
    Dim i As Long
    JG_Query = JG_Flat(pairs, flat, count)
    If JG_Query <> "" Or count = 0 Then Exit Function
    ReDim pieces(0 To count / 2 - 1)
    For i = 0 To count - 2 Step 2
        label = JG_Text(flat(i))
        content = JG_Text(flat(i + 1))
        If label <> "" And content <> "" Then pieces(i / 2) = "&" & JG_Encode(label) & "=" & JG_Encode(content)
    Next i
    JG_Query = Join(pieces, "")
End Function

' The same as a JSON object.
Private Function JG_Common(pairs As Variant) As String
    Dim flat As Variant
    Dim pieces() As String
    Dim label As String
    Dim content As String
    Dim count As Long
    Dim found As Long
    Dim i As Long
    JG_Common = JG_Flat(pairs, flat, count)
    If JG_Common <> "" Then Exit Function
    ReDim pieces(0 To count / 2)
    For i = 0 To count - 2 Step 2
        label = JG_Text(flat(i))
        content = JG_Json(flat(i + 1))
        If label <> "" And content <> "null" Then
            pieces(found) = JG_Json(label) & ":" & content
            found = found + 1
        End If
    Next i
    If found = 0 Then
        JG_Common = "{}"
    Else
        ReDim Preserve pieces(0 To found - 1)
        JG_Common = "{" & Join(pieces, ",") & "}"
    End If
End Function

' The paths as a JSON list; wide is how many there are, 0 where one of them is empty.
Private Function JG_Paths(given As Variant, wide As Long) As String
    Dim pieces() As String
    Dim c As Long
    Dim r As Long
    wide = 0
    If Not IsArray(given) Then
        If JG_Text(given) <> "" Then wide = 1
        JG_Paths = "[" & JG_Json(JG_Text(given)) & "]"
        Exit Function
    End If
    ReDim pieces(0 To (UBound(given, 1) - LBound(given, 1) + 1) * (UBound(given, 2) - LBound(given, 2) + 1) - 1)
    For r = LBound(given, 1) To UBound(given, 1)
        For c = LBound(given, 2) To UBound(given, 2)
            If JG_Text(given(r, c)) = "" Then
                wide = 0
                Exit Function
            End If
            pieces(wide) = JG_Json(JG_Text(given(r, c)))
            wide = wide + 1
        Next c
    Next r
    JG_Paths = "[" & Join(pieces, ",") & "]"
End Function

' The last row of a range that holds anything, or its first one.
Private Function JG_Last(table As Variant) As Long
    Dim c As Long
    Dim r As Long
    For r = UBound(table, 1) To LBound(table, 1) + 1 Step -1
        For c = LBound(table, 2) To UBound(table, 2)
            If JG_Json(table(r, c)) <> "null" Then
                JG_Last = r
                Exit Function
            End If
        Next c
    Next r
    JG_Last = LBound(table, 1)
End Function

' Names and rows of the joints as two members of a JSON object.
Private Function JG_Rows(table As Variant, ByVal last As Long) As String
    Dim names() As String
    Dim row() As String
    Dim rows() As String
    Dim first As Long
    Dim c As Long
    Dim r As Long
    first = LBound(table, 2)
    ReDim names(0 To UBound(table, 2) - first)
    ReDim row(0 To UBound(table, 2) - first)
    For c = first To UBound(table, 2)
        names(c - first) = JG_Json(JG_Text(table(LBound(table, 1), c)))
    Next c
    If last = LBound(table, 1) Then
        JG_Rows = """names"":[" & Join(names, ",") & "],""rows"":[]"
        Exit Function
    End If
    ReDim rows(0 To last - LBound(table, 1) - 1)
    For r = LBound(table, 1) + 1 To last
        For c = first To UBound(table, 2)
            If names(c - first) = """""" Then
                row(c - first) = "null"
            Else
                row(c - first) = JG_Json(table(r, c))
            End If
        Next c
        rows(r - LBound(table, 1) - 1) = "[" & Join(row, ",") & "]"
    Next r
    JG_Rows = """names"":[" & Join(names, ",") & "],""rows"":[" & Join(rows, ",") & "]"
End Function

' One value as JSON; nothing, and a text of blanks alone, as null.
Private Function JG_Json(given As Variant) As String
    Dim content As String
    Dim i As Long
    Select Case VarType(given)
        Case 2, 3, 4, 5, 6, 7, 14
            JG_Json = JG_Number(given)
        Case 10
            JG_Json = """the cell holds an error"""
        Case Else
            content = JG_Text(given)
            If content = "" Then
                JG_Json = "null"
            ElseIf VarType(given) = 11 Then
                JG_Json = content
            Else
                If JG_IsOdd(Replace(content, " ", "")) Then
                    content = Replace(Replace(content, "\", "\\"), Chr(34), "\" & Chr(34))
                    ' No text of a cell means anything by its line ends, tabs and the like.
                    For i = 1 To 31
                        content = Replace(content, Chr(i), " ")
                    Next i
                End If
                JG_Json = Chr(34) & content & Chr(34)
            End If
    End Select
End Function

' A text as it stands in a query: looked at whole, since most need no coding.
Private Function JG_Encode(ByVal given As String) As String
    If JG_IsOdd(given) Then JG_Encode = JG_Coded(given) Else JG_Encode = given
End Function

' Whether a text holds anything but plain letters, digits and -._~ ; in some programs Like does
' not look beyond the end of a line.
Private Function JG_IsOdd(ByVal given As String) As Boolean
    JG_IsOdd = (given Like "*[!-A-Za-z0-9._~]*") Or InStr(given, Chr(10)) > 0 Or InStr(given, Chr(13)) > 0
End Function

' What a cell or a range holds: one value, or an array of two dimensions.
Private Function JG_Plain(given As Variant) As Variant
    Dim place As Object
    If IsObject(given) Then
        Set place = given
        JG_Plain = place.Value
    Else
        JG_Plain = given
    End If
End Function

' Str() always writes a decimal point; a plain conversion to text follows the language.
Private Function JG_Number(given As Variant) As String
    Dim digits As String
    digits = Trim(Str(given))
    ' Some programs leave out the nought before the point, which is no number elsewhere.
    If Left(digits, 1) = "." Then digits = "0" & digits
    If Left(digits, 2) = "-." Then digits = "-0" & Mid(digits, 2)
    JG_Number = digits
End Function

Private Function JG_Text(given As Variant) As String
    If IsObject(given) Then
        JG_Text = JG_Text(JG_Plain(given))
        Exit Function
    End If
    Select Case VarType(given)
        Case 8
            JG_Text = Trim(given)
        Case 2, 3, 4, 5, 6, 7, 14
            JG_Text = JG_Number(given)
        Case 11
            If given Then JG_Text = "true" Else JG_Text = "false"
        Case 0, 1
            JG_Text = ""
        Case Else
            JG_Text = CStr(given)
    End Select
End Function

' A piece of an answer as a cell's content. The service writes ' before a text that begins like
' a number, so that one look is enough; Val() alone would read 1 out of "1 5/8 in".
Private Function JG_Cell(reply As Variant) As Variant
    If (reply Like "[-0-9]*") And Not (reply Like "*[!-+.0-9e]*") Then
        JG_Cell = Val(reply)
    ElseIf Left(reply, 1) = "'" Then
        JG_Cell = Mid(reply, 2)
    Else
        JG_Cell = reply
    End If
End Function

' Lines with tabs as an array of rows by wide; where lines are missing, empty text.
Private Function JG_Block(lines As Variant, ByVal rows As Long, ByVal wide As Long) As Variant
    Dim grid() As Variant
    Dim fields As Variant
    Dim c As Long
    Dim r As Long
    If rows < 1 Then rows = 1
    ReDim grid(0 To rows - 1, 0 To wide - 1)
    For r = 0 To rows - 1
        For c = 0 To wide - 1
            grid(r, c) = ""
        Next c
        If r <= UBound(lines) Then
            fields = Split(lines(r), Chr(9))
            For c = 0 To UBound(fields)
                If c < wide Then grid(r, c) = JG_Cell(fields(c))
            Next c
        End If
    Next r
    JG_Block = grid
End Function

' Values of one line in the form of the range that asked for them; one reason alone in every cell.
Private Function JG_Spread(reply As String, ByVal high As Long, ByVal wide As Long) As Variant
    Dim grid() As Variant
    Dim fields As Variant
    Dim c As Long
    Dim r As Long
    fields = Split(reply, Chr(9))
    ReDim grid(0 To high - 1, 0 To wide - 1)
    For r = 0 To high - 1
        For c = 0 To wide - 1
            If UBound(fields) = high * wide - 1 Then grid(r, c) = JG_Cell(fields(r * wide + c)) Else grid(r, c) = reply
        Next c
    Next r
    JG_Spread = grid
End Function

' A table of an answer, cut off or filled up to the wanted number of rows.
Private Function JG_Grid(reply As String, ByVal wanted As Long) As Variant
    Dim grid As Variant
    Dim lines As Variant
    Dim c As Long
    Dim found As Long
    Dim wide As Long
    lines = Split(reply, Chr(10))
    found = UBound(lines) + 1
    wide = UBound(Split(lines(0), Chr(9))) + 1
    If wanted < 1 Then wanted = found
    grid = JG_Block(lines, wanted, wide)
    If found > wanted Then
        ' A pass that is not shown must not be missed.
        For c = 1 To wide - 1
            grid(wanted - 1, c) = ""
        Next c
        grid(wanted - 1, 0) = "# " & (found - wanted + 1) & " more rows"
    End If
    JG_Grid = grid
End Function
