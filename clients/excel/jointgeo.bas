Attribute VB_Name = "JointGeo"
Option Explicit

' Functions for cells that ask a jointgeo service.
'
' JG_VALUE(service, joint_type, want, pick, name, value, ...)   one value
' JG_TABLE(service, joint_type, want, rows, name, value, ...)   a table with a heading
'
' service     address of the service, e.g. http://127.0.0.1:8765
' joint_type  name of a joint type, as the service lists them
' want        "settings" or "feasibility"
' pick        dotted path of the value, e.g. parts.0.setups.0.swivel_deg
' rows        rows to fill, the heading included: fewer are filled up with empty text, more
'             are announced in the last row; 0 = as many as there are
' name, value flat list of the joint's parameters, of fixture and hand, and of part and setup
'             where only some rows are wanted; in place of any two of them a range of two
'             columns, names beside values. A pair whose name or value is empty is left out,
'             so that the parameter's default holds.
'
' A number comes as a number, everything else as text. A text that begins with # is the
' reason why there is no answer. Millimetres and degrees; any x_mm may be given as x_in.
' Numbers are sent and read with a decimal point whatever the computer's language is.
'
' To install: in the editor (Alt+F11) choose File, Import File, take this file, and save the
' workbook as one with macros. Windows only, since the two functions of the first section
' are. The service must run on this computer: no token is sent.

' ---- This program's own: the only place that speaks HTTP, and the coding of a text ----

Private Function JG_Fetch(ByVal url As String) As String
    Dim http As Object
    On Error GoTo no_answer
    Set http = CreateObject("MSXML2.ServerXMLHTTP.6.0")
    ' Milliseconds to find, to connect, to send and to wait: a cell must not hang the sheet.
    http.setTimeouts 2000, 2000, 5000, 30000
    http.Open "GET", url, False
    http.send
    If http.Status = 200 Then
        JG_Fetch = http.responseText
    Else
        JG_Fetch = "# the service answered with status " & http.Status
    End If
    Exit Function
no_answer:
    JG_Fetch = JG_NoAnswer(url)
End Function

Private Function JG_Encode(ByVal given As String) As String
    JG_Encode = Application.WorksheetFunction.EncodeURL(given)
End Function

' ---- The same in every program ----

Public Function JG_VALUE(service As Variant, joint_type As Variant, want As Variant, pick As Variant, ParamArray pairs() As Variant) As Variant
    Dim given As Variant
    Dim reply As String
    given = pairs
    reply = JG_Ask(service, joint_type, want, JG_Pair("shape", "value") & JG_Pair("pick", pick), given)
    If JG_IsNumber(reply) Then
        JG_VALUE = Val(reply)
    Else
        JG_VALUE = reply
    End If
End Function

Public Function JG_TABLE(service As Variant, joint_type As Variant, want As Variant, rows As Variant, ParamArray pairs() As Variant) As Variant
    Dim given As Variant
    Dim reply As String
    given = pairs
    reply = JG_Ask(service, joint_type, want, JG_Pair("shape", "csv"), given)
    If Left(reply, 1) = "#" Then
        JG_TABLE = reply
    ElseIf InStr(reply, Chr(34)) > 0 Or InStr(reply, Chr(13) & Chr(10)) = 0 Then
        ' The service's tables hold bare numbers and names; anything else came from elsewhere.
        JG_TABLE = "# the answer is not a table of a jointgeo service"
    Else
        JG_TABLE = JG_Grid(reply, JG_Plain(rows))
    End If
End Function

Private Function JG_Ask(service As Variant, joint_type As Variant, want As Variant, shape As String, pairs As Variant) As String
    Dim address As String
    Dim query As String
    address = JG_Text(service)
    If Right(address, 1) = "/" Then address = Left(address, Len(address) - 1)
    query = JG_Query(pairs)
    If Left(address, 7) <> "http://" And Left(address, 8) <> "https://" Then
        ' Anything else, a file's address for one, is none of a cell's business.
        JG_Ask = "# the address of the service must begin with http:// or https://"
    ElseIf Left(query, 1) = "#" Then
        JG_Ask = query
    Else
        JG_Ask = JG_Fetch(address & "/v1/joint-types/" & JG_Encode(JG_Text(joint_type)) & "/" & JG_Encode(JG_Text(want)) & "?cells=1" & shape & query)
    End If
End Function

Private Function JG_NoAnswer(url As String) As String
    Dim root As String
    root = Left(url, InStr(url, "/v1/") - 1)
    JG_NoAnswer = "# no answer from " & root & ": is the service running there? Start it with: jointgeo serve"
End Function

' The pairs as the tail of a query, or a text that begins with # and says what is wrong.
Private Function JG_Query(pairs As Variant) As String
    Dim item As Variant
    Dim label As Variant
    Dim query As String
    Dim i As Long
    Dim r As Long
    Dim waiting As Boolean
    For i = LBound(pairs) To UBound(pairs)
        item = JG_Plain(pairs(i))
        If IsArray(item) Then
            If waiting Or UBound(item, 2) - LBound(item, 2) <> 1 Then
                JG_Query = "# names and values must come in pairs; a range needs two columns"
                Exit Function
            End If
            For r = LBound(item, 1) To UBound(item, 1)
                query = query & JG_Pair(item(r, LBound(item, 2)), item(r, UBound(item, 2)))
            Next r
        ElseIf waiting Then
            query = query & JG_Pair(label, item)
            waiting = False
        Else
            label = item
            waiting = True
        End If
    Next i
    If waiting Then
        JG_Query = "# names and values must come in pairs; the last name has no value"
    ElseIf InStr(query, "#") > 0 Then
        ' Coded texts hold no such sign: one of the pairs could not be read.
        JG_Query = Mid(query, InStr(query, "#"))
    Else
        JG_Query = query
    End If
End Function

Private Function JG_Pair(label As Variant, content As Variant) As String
    If IsError(label) Or IsError(content) Then
        JG_Pair = "# one of the given cells holds an error"
    ElseIf JG_Text(label) <> "" And JG_Text(content) <> "" Then
        JG_Pair = "&" & JG_Encode(JG_Text(label)) & "=" & JG_Encode(JG_Text(content))
    End If
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
Private Function JG_Text(given As Variant) As String
    Dim content As Variant
    Dim digits As String
    content = JG_Plain(given)
    If VarType(content) = 8 Then
        JG_Text = Trim(content)
    ElseIf VarType(content) = 11 Then
        If content Then JG_Text = "true" Else JG_Text = "false"
    ElseIf IsEmpty(content) Then
        JG_Text = ""
    ElseIf IsNumeric(content) Then
        digits = Trim(Str(content))
        ' Some programs leave out the nought before the point, which is no number elsewhere.
        If Left(digits, 1) = "." Then digits = "0" & digits
        If Left(digits, 2) = "-." Then digits = "-0" & Mid(digits, 2)
        JG_Text = digits
    Else
        JG_Text = CStr(content)
    End If
End Function

' Val() stops at the first sign it does not know, so the whole text is looked at first.
Private Function JG_IsNumber(reply As String) As Boolean
    Dim i As Long
    Dim j As Long
    i = 1
    If Mid(reply, 1, 1) = "-" Then i = 2
    j = JG_Digits(reply, i)
    If j = i Then Exit Function
    If Mid(reply, j, 1) = "." Then
        i = j + 1
        j = JG_Digits(reply, i)
        If j = i Then Exit Function
    End If
    If Mid(reply, j, 1) = "e" Then
        i = j + 1
        If Mid(reply, i, 1) = "-" Or Mid(reply, i, 1) = "+" Then i = i + 1
        j = JG_Digits(reply, i)
        If j = i Then Exit Function
    End If
    JG_IsNumber = (j > Len(reply))
End Function

' The place after the digits that begin at place i.
Private Function JG_Digits(reply As String, ByVal i As Long) As Long
    Do While i <= Len(reply)
        If InStr("0123456789", Mid(reply, i, 1)) = 0 Then Exit Do
        i = i + 1
    Loop
    JG_Digits = i
End Function

' A CSV text without quotes as an array of two dimensions (a jagged one shows nothing).
Private Function JG_Grid(reply As String, ByVal wanted As Long) As Variant
    Dim grid() As Variant
    Dim fields As Variant
    Dim records As Variant
    Dim c As Long
    Dim r As Long
    Dim found As Long
    Dim wide As Long
    records = Split(reply, Chr(13) & Chr(10))
    found = UBound(records)
    wide = UBound(Split(records(0), ","))
    If wanted < 1 Then wanted = found
    ReDim grid(0 To wanted - 1, 0 To wide)
    For r = 0 To wanted - 1
        For c = 0 To wide
            grid(r, c) = ""
        Next c
        If r < found Then
            fields = Split(records(r), ",")
            For c = 0 To UBound(fields)
                If JG_IsNumber(CStr(fields(c))) Then grid(r, c) = Val(fields(c)) Else grid(r, c) = fields(c)
            Next c
        End If
    Next r
    If found > wanted Then
        ' A pass that is not shown must not be missed.
        For c = 1 To wide
            grid(wanted - 1, c) = ""
        Next c
        grid(wanted - 1, 0) = "# " & (found - wanted + 1) & " more rows"
    End If
    JG_Grid = grid
End Function
